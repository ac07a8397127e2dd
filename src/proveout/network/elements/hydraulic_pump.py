"""A driven pump for a liquid: its flow until its relief pressure is reached; at rest nothing passes it."""

from __future__ import annotations

from proveout.network.domains import HYDRAULIC
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.laws import Array, Limited

__all__ = ["HYDRAULIC_PUMP"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    if not on:
        return (Limited.absent,)
    return ((v["relief"], v["flow"] / v["width"], v["flow"], v["flow"]),)


HYDRAULIC_PUMP = Element(
    name="hydraulic_pump",
    title="Hydraulic pump with its relief valve",
    terminals=("outlet", "return"),
    parameters={
        "flow": Parameter("m3/s", "volume that it delivers in a second", 1.2e-4, low=1e-12),
        "relief": Parameter("Pa", "pressure at which its relief valve opens", 9.0e6, low=1e3),
        "width": Parameter("Pa", "pressure over which its relief valve opens", 3.0e5, low=1.0),
    },
    branches=(Branch("limited", ("outlet", "return")),),
    expand=_expand,
    switched=True,
    domains=(HYDRAULIC,),
    faults=(
        FaultMode("weak", "worn, or its belt slips: delivers little", 1.0, "flow", 1e-4, 0.05, relative=True),
        FaultMode("relief", "relief valve opens early", 0.7, "relief", 0.1, 0.75, relative=True),
        FaultMode("dead", "delivers nothing", 0.5, forced=False),
    ),
)
