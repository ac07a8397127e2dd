"""Air of one temperature: the weather, the workshop, a cabin."""

from __future__ import annotations

from proveout.network.domains import THERMAL
from proveout.network.elements._element import Branch, Element, Parameter, Values
from proveout.network.elements._heat import STIFF, held
from proveout.network.laws import Array

__all__ = ["SURROUNDING_AIR"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return (held(v["temperature"], STIFF),)


SURROUNDING_AIR = Element(
    name="surrounding_air",
    title="Surrounding air",
    terminals=("air", "zero"),
    parameters={"temperature": Parameter("C", "temperature", 15.0, low=-60.0, high=60.0)},
    branches=(Branch("linear", ("air", "zero")),),
    expand=_expand,
    domains=(THERMAL,),
)
