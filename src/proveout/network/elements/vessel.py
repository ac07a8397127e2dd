"""A vessel for air: a chamber of a booster, a reservoir, the inside of a hose."""

from __future__ import annotations

from proveout.network.domains import PNEUMATIC
from proveout.network.elements._air import AIR_PRESSURE, GAS_TEMPERATURE
from proveout.network.elements._element import Branch, Element, Parameter, Values
from proveout.network.gas import AIR, kelvin
from proveout.network.laws import Array

__all__ = ["VESSEL"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((0.0, 0.0, v["volume"] / (AIR * kelvin(v["temperature"])), v["air"], 1.0 / v["exponent"]),)


VESSEL = Element(
    name="vessel",
    title="Vessel for air",
    terminals=("inside", "outside"),
    parameters={
        "volume": Parameter("m3", "volume", None, low=1e-9),
        "exponent": Parameter(
            "1", "1: the gas keeps its temperature (slow); 1.4: it exchanges no heat (quick)", 1.0, low=1.0, high=1.7
        ),
        "temperature": GAS_TEMPERATURE,
        "air": AIR_PRESSURE,
    },
    branches=(Branch("gas_store", ("inside", "outside")),),
    expand=_expand,
    domains=(PNEUMATIC,),
)
