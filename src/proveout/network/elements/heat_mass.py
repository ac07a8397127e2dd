"""A body with one temperature that stores heat: the engine's metal, the coolant in it, the radiator."""

from __future__ import annotations

from proveout.network.domains import THERMAL
from proveout.network.elements._element import Branch, Element, Parameter, Values
from proveout.network.laws import Array

__all__ = ["HEAT_MASS"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((0.0, 0.0, v["capacity"]),)


HEAT_MASS = Element(
    name="heat_mass",
    title="Heat mass",
    terminals=("body", "zero"),
    parameters={"capacity": Parameter("J/K", "heat that warms it by one kelvin", 1.8e4, low=1e-6)},
    branches=(Branch("store", ("body", "zero")),),
    expand=_expand,
    domains=(THERMAL,),
)
