"""What a meter's input puts across two points."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["METER_LOAD"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    g = conductance(v["resistance"])
    return ((g, g * v["emf"]),)


METER_LOAD = Element(
    name="meter_load",
    title="Meter",
    terminals=("red", "black"),
    parameters={
        "resistance": Parameter("ohm", "input or source resistance", 1.0e7, low=1e-6),
        "emf": Parameter("V", "open-circuit voltage of its ohms source, 0 on volts", 0.0, low=float("-inf")),
    },
    branches=(Branch("linear", ("red", "black")),),
    expand=_expand,
)
