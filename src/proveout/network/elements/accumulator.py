"""An accumulator: a liquid held under pressure by a charge of gas."""

from __future__ import annotations

from proveout.network.domains import HYDRAULIC
from proveout.network.elements._air import AIR_PRESSURE
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.laws import Array

__all__ = ["ACCUMULATOR", "LIQUID_VESSEL"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((0.0, 0.0, v["elasticity"], v["air"], 1.0 / v["exponent"], v["volume"], v["charge"] + v["air"]),)


def _expand_vessel(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((0.0, 0.0, v["elasticity"]),)


_ELASTICITY = Parameter("m3/Pa", "volume that line and shell take in for each pascal", 5.0e-15, low=1e-20)

ACCUMULATOR = Element(
    name="accumulator",
    title="Accumulator with a gas charge",
    terminals=("fluid", "outside"),
    parameters={
        "volume": Parameter("m3", "volume of the gas when no fluid is in it", 6.0e-5, low=1e-9),
        "charge": Parameter("Pa", "gauge pressure of the gas when no fluid is in it", 4.5e6, low=1.0),
        "exponent": Parameter("1", "1: gas at one temperature; 1.4: gas without heat exchange", 1.2, low=1.0, high=1.7),
        "elasticity": _ELASTICITY,
        "air": AIR_PRESSURE,
    },
    branches=(Branch("charge_store", ("fluid", "outside")),),
    expand=_expand,
    domains=(HYDRAULIC,),
    faults=(FaultMode("charge_lost", "gas charge lost", 1.0, "charge", 0.002, 0.5, relative=True),),
)

LIQUID_VESSEL = Element(
    name="liquid_vessel",
    title="Elastic chamber or line",
    terminals=("fluid", "outside"),
    parameters={"elasticity": _ELASTICITY},
    branches=(Branch("store", ("fluid", "outside")),),
    expand=_expand_vessel,
    domains=(HYDRAULIC,),
)
