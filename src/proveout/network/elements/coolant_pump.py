"""A coolant pump: its pressure rises with the square of its speed."""

from __future__ import annotations

from proveout.network.domains import HYDRAULIC
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.laws import Array

__all__ = ["COOLANT_PUMP"]

GIVE = 1.0e-6  # m3/(s Pa): how little its pressure hangs on what is drawn


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    pressure = v["rise"] * (v["speed"] / v["usual_speed"]) ** 2
    return ((GIVE, GIVE * pressure),)


COOLANT_PUMP = Element(
    name="coolant_pump",
    title="Coolant pump",
    terminals=("outlet", "inlet"),
    parameters={
        "rise": Parameter("Pa", "pressure that it gives at its usual speed", 2.0e4, low=1e-6),
        "speed": Parameter("1/s", "turns of the crankshaft in a second", 0.0),
        "usual_speed": Parameter("1/s", "turns at which it gives that", 30.0, low=1e-3),
    },
    branches=(Branch("linear", ("outlet", "inlet")),),
    expand=_expand,
    domains=(HYDRAULIC,),
    faults=(FaultMode("weak", "impeller worn or loose, or its belt slips", 1.0, "rise", 2e-4, 0.06, relative=True),),
)
