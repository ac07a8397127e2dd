"""A heater or solenoid winding driven with direct current."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["HEATER"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((conductance(v["resistance"]), 0.0),)


HEATER = Element(
    name="heater",
    title="Heater",
    terminals=("a", "b"),
    parameters={"resistance": Parameter("ohm", "resistance", 12.0, low=1e-4)},
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    faults=(
        FaultMode("open", "open", 1.0, "resistance", float("inf"), float("inf"), intermittent=True),
        FaultMode("high", "resistance high", 0.3, "resistance", 1.4, 100.0, relative=True),
        FaultMode("low", "partly shorted", 0.3, "resistance", 0.02, 0.7, relative=True),
    ),
)
