"""Heat that an engine's metal takes from combustion and friction, by load and speed.

    Q = a x air flow + b x speed

A share of the fuel's heat reaches the metal; fuel goes with air in an engine that mixes both evenly.
"""

from __future__ import annotations

from proveout.network.domains import THERMAL
from proveout.network.elements._element import Branch, Element, Parameter, Values
from proveout.network.laws import Array

__all__ = ["COMBUSTION"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    heat = v["heat_air"] * v["air_flow"] + v["heat_turn"] * v["speed"]
    return ((0.0, heat if on else 0.0 * heat),)


COMBUSTION = Element(
    name="combustion",
    title="Heat of combustion",
    terminals=("metal", "zero"),
    parameters={
        "air_flow": Parameter("kg/s", "air that the engine takes in", 0.01),
        "speed": Parameter("1/s", "turns of the crankshaft in a second", 30.0),
        "heat_air": Parameter("J/kg", "heat to the metal for each kilogram of air", 0.75e6),
        "heat_turn": Parameter("J", "friction heat for each turn", 35.0),
    },
    branches=(Branch("linear", ("metal", "zero")),),
    expand=_expand,
    switched=True,
    domains=(THERMAL,),
)
