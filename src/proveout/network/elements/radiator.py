"""A radiator whose water has one temperature, in the wind of the drive: effectiveness and transfer units.

A = calm + wind x road speed                   stream of air, mass flow x heat capacity [W/K]
conductance = A (1 - exp(-U / A))              heat for each kelvin above the air (`network.thermal.exchanger`)
"""

from __future__ import annotations

from proveout.network.domains import THERMAL
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.laws import Array
from proveout.network.thermal import mixed_effectiveness

__all__ = ["RADIATOR"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    stream = v["calm"] + v["wind"] * v["road_speed"]
    return ((stream * mixed_effectiveness(v["transfer"] / stream), 0.0),)


RADIATOR = Element(
    name="radiator",
    title="Radiator",
    terminals=("water", "air"),
    parameters={
        "transfer": Parameter("W/K", "UA, heat transfer from water to air", 1000.0, low=1e-6),
        "calm": Parameter("W/K", "stream of air while standing", 25.0, low=1e-6),
        "wind": Parameter("W s/(K m)", "stream of air for each m/s of road speed", 90.0),
        "road_speed": Parameter("m/s", "road speed", 0.0),
    },
    branches=(Branch("linear", ("water", "air")),),
    expand=_expand,
    domains=(THERMAL,),
    faults=(FaultMode("blocked", "blocked inside or out", 1.0, "transfer", 0.04, 0.4, relative=True),),
)
