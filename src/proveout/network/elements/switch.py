"""A switch, closed while its set-up says so."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["SWITCH"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((conductance(v["resistance"] if on else v["open_resistance"]), 0.0),)


SWITCH = Element(
    name="switch",
    title="Switch",
    terminals=("a", "b"),
    parameters={
        "resistance": Parameter("ohm", "resistance when closed", 0.01, low=1e-6),
        "open_resistance": Parameter("ohm", "resistance when open", float("inf"), low=1e3),
    },
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    switched=True,
    faults=(
        FaultMode("stuck_open", "does not close", 1.0, forced=False),
        FaultMode("stuck_closed", "does not open", 0.3, forced=True),
        FaultMode("worn", "contacts worn, resistance", 0.7, "resistance", 0.2, 1.0e3, intermittent=True),
    ),
)
