"""A fuse."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["FUSE"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((conductance(v["resistance"]), 0.0),)


FUSE = Element(
    name="fuse",
    title="Fuse",
    terminals=("a", "b"),
    parameters={"resistance": Parameter("ohm", "cold resistance", 0.005, low=1e-6)},
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    faults=(
        FaultMode("blown", "blown", 1.0, "resistance", float("inf"), float("inf")),
        FaultMode("resistive", "poor contact in its holder", 0.3, "resistance", 0.2, 1.0e3, intermittent=True),
    ),
)
