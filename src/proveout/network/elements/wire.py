"""A wire of the harness: its copper, and what a break or broken strands add in series."""

from __future__ import annotations

from proveout.network.conductors import copper_resistance
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["WIRE"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((conductance(copper_resistance(v["length"], v["area"]) + v["extra"]), 0.0),)


WIRE = Element(
    name="wire",
    title="Wire",
    terminals=("a", "b"),
    parameters={
        "length": Parameter("m", "length", 1.0, low=0.01),
        "area": Parameter("mm2", "cross-section of the copper", 0.5, low=0.05),
        "extra": Parameter("ohm", "series resistance added by damage", 0.0),
    },
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    faults=(
        FaultMode("open", "broken", 1.0, "extra", float("inf"), float("inf"), intermittent=True),
        FaultMode("resistive", "damaged, series resistance", 0.5, "extra", 0.3, 1.0e5),
    ),
)
