"""What may come to lie between two conductors: nothing but insulation when good, a chafed short when bad."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["BRIDGE"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((conductance(v["resistance"]), 0.0),)


BRIDGE = Element(
    name="bridge",
    title="Insulation",
    terminals=("a", "b"),
    parameters={"resistance": Parameter("ohm", "insulation resistance", 1.0e9, low=1e-6)},
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    faults=(FaultMode("short", "shorted", 1.0, "resistance", 0.02, 3.0e3),),
)
