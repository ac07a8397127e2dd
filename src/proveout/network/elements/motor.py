"""A direct-current motor: one effective resistance while it turns, a much lower one while it is stalled."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Gate, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["MOTOR"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    turning = v["running_resistance"] if on else v["stalled_resistance"]
    return ((conductance(turning + v["extra"]), 0.0),)


MOTOR = Element(
    name="motor",
    title="Motor",
    terminals=("positive", "negative"),
    parameters={
        "running_resistance": Parameter("ohm", "voltage over current while turning", 2.4, low=1e-4),
        "stalled_resistance": Parameter("ohm", "winding and brushes at rest", 0.6, low=1e-4),
        "minimum": Parameter("V", "voltage at which it turns", 4.0),
        "extra": Parameter("ohm", "resistance added by brushes or a break", 0.0),
    },
    branches=(Branch("linear", ("positive", "negative")),),
    expand=_expand,
    gate=Gate("positive", "negative", "minimum"),
    switched=True,
    faults=(
        FaultMode("open", "winding or brushes open", 1.0, "extra", float("inf"), float("inf"), intermittent=True),
        FaultMode("seized", "does not turn", 0.5, forced=False),
        FaultMode("worn", "brushes worn, resistance", 0.7, "extra", 1.0, 1.0e3),
    ),
)
