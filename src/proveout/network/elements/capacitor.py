"""A capacitor with its leakage."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["CAPACITOR"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((conductance(v["leakage"]), 0.0),)


CAPACITOR = Element(
    name="capacitor",
    title="Capacitor",
    terminals=("a", "b"),
    parameters={
        "capacitance": Parameter("F", "capacitance", None, low=1e-15),
        "leakage": Parameter("ohm", "leakage resistance", 1.0e9, low=1e-3),
    },
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    storage={0: "capacitance"},
    faults=(FaultMode("shorted", "shorted", 1.0, "leakage", 0.1, 100.0),),
)
