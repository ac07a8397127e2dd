"""Parameters that pneumatic elements share."""

from __future__ import annotations

from proveout.network.atmosphere import SEA_LEVEL
from proveout.network.elements._element import Parameter

__all__ = ["AIR_PRESSURE", "CRITICAL", "GAS_TEMPERATURE"]

AIR_PRESSURE = Parameter(
    "Pa", "absolute pressure of the surrounding air", SEA_LEVEL, low=1e4, surroundings="air_pressure"
)
CRITICAL = Parameter("1", "pressure ratio below which the flow is choked", 0.4, low=0.0, high=0.9)
GAS_TEMPERATURE = Parameter("°C", "temperature of the gas", 20.0, low=-60.0, high=400.0)
