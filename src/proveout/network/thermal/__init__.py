"""Heat in an engine's cooling circuit: the coolant, heat exchangers, the wax of a thermostat."""

from proveout.network.thermal.coolant import boiling_point, density, heat_capacity
from proveout.network.thermal.exchanger import crossflow_effectiveness, exchanger_conductance, mixed_effectiveness
from proveout.network.thermal.saturation import saturation_pressure, saturation_temperature
from proveout.network.thermal.wax import flow_share, opening_after, rising_opening

__all__ = [
    "boiling_point",
    "crossflow_effectiveness",
    "density",
    "exchanger_conductance",
    "flow_share",
    "heat_capacity",
    "mixed_effectiveness",
    "opening_after",
    "rising_opening",
    "saturation_pressure",
    "saturation_temperature",
]
