"""A two-wire sensor that speaks by its supply current: a low and a high level."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.laws import Array

__all__ = ["CURRENT_SINK"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((v["health"] * (v["high_current"] if on else v["low_current"]), v["knee"]),)


CURRENT_SINK = Element(
    name="current_sink",
    title="Two-level current sensor",
    terminals=("supply", "return"),
    parameters={
        "low_current": Parameter("A", "low level", 0.007, low=0.0),
        "high_current": Parameter("A", "high level", 0.014, low=0.0),
        "knee": Parameter("V", "voltage scale of the start of conduction", 0.8, low=0.01),
        "health": Parameter("1", "share of its current that is left", 1.0),
    },
    branches=(Branch("sink", ("supply", "return")),),
    expand=_expand,
    switched=True,
    faults=(
        FaultMode("dead", "draws no current", 1.0, "health", 0.0, 0.0, intermittent=True),
        FaultMode("stuck_low", "stays at the low level", 0.7, forced=False),
        FaultMode("stuck_high", "stays at the high level", 0.5, forced=True),
        FaultMode("weak", "both levels too low", 0.2, "health", 0.2, 0.75),
        FaultMode("strong", "both levels too high", 0.2, "health", 1.35, 10.0),
    ),
)
