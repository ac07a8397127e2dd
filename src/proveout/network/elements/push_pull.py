"""A push-pull stage: the output is tied to the supply or to the ground."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["PUSH_PULL"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    up = conductance(v["resistance"]) if on else 0.0
    down = 0.0 if on else conductance(v["resistance"])
    return (up, 0.0), (down, 0.0)


PUSH_PULL = Element(
    name="push_pull",
    title="Push-pull stage",
    terminals=("output", "supply", "ground"),
    parameters={"resistance": Parameter("ohm", "resistance to the level it is tied to", 50.0, low=1e-6)},
    branches=(Branch("linear", ("output", "supply")), Branch("linear", ("output", "ground"))),
    expand=_expand,
    switched=True,
    faults=(
        FaultMode("stuck_low", "output always low", 1.0, forced=False),
        FaultMode("stuck_high", "output always high", 1.0, forced=True),
        FaultMode("weak", "output resistance high", 0.5, "resistance", 1.0e3, 1.0e6),
    ),
)
