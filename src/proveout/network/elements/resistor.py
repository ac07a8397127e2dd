"""A resistor."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["RESISTOR"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((conductance(v["resistance"]), 0.0),)


RESISTOR = Element(
    name="resistor",
    title="Resistor",
    terminals=("a", "b"),
    parameters={"resistance": Parameter("ohm", "resistance", None, low=1e-6)},
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    faults=(
        FaultMode("open", "open", 1.0, "resistance", float("inf"), float("inf")),
        FaultMode("high", "resistance high", 0.4, "resistance", 1.15, 50.0, relative=True),
        FaultMode("low", "resistance low", 0.2, "resistance", 0.02, 0.85, relative=True),
    ),
)
