"""A heater core: coolant by the pump on one side, the blower's air on the other, and what comes out of the vents.

C = passage x sqrt(pump pressure) x heat capacity            stream of coolant [W/K]
g = exchanger conductance of C, blower, transfer             heat for each kelvin between coolant and cabin air
vents: g in series makes them warmer than the cabin air by heat / blower
"""

from __future__ import annotations

import numpy as np

from proveout.network.domains import HYDRAULIC, THERMAL
from proveout.network.elements._element import Branch, Drive, Element, FaultMode, Parameter, Values
from proveout.network.elements._heat import COOLANT_HEAT, PASSAGE, carried
from proveout.network.laws import Array
from proveout.network.thermal import exchanger_conductance

__all__ = ["HEATER_CORE"]

MOST = 0.98  # of the blower's stream: no exchanger warms air up to the coolant quite


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    blower = np.maximum(v["blower"], 1e-6)
    through = exchanger_conductance(carried(v["passage"], v["pressure"], v["heat"]), blower, v["transfer"])
    through = np.minimum(through, MOST * blower)
    return (through * blower / (blower - through), 0.0), (blower, 0.0)


HEATER_CORE = Element(
    name="heater_core",
    title="Heater core",
    terminals=("coolant", "vents", "cabin", "pumped", "zero"),
    parameters={
        "passage": PASSAGE,
        "transfer": Parameter("W/K", "UA, heat transfer from coolant to air", 120.0, low=1e-6),
        "blower": Parameter("W/K", "stream of the blower's air, mass flow x heat capacity", 60.0, low=1e-6),
        "heat": COOLANT_HEAT,
        "pressure": Parameter("Pa", "what the pump gives, from the network", 0.0, low=-1e9),
    },
    branches=(Branch("linear", ("coolant", "vents")), Branch("linear", ("vents", "cabin"))),
    expand=_expand,
    drive=Drive("pressure", "pumped", "zero"),
    domains=(THERMAL, THERMAL, THERMAL, HYDRAULIC, THERMAL),
    faults=(FaultMode("blocked", "blocked, or full of air", 1.0, "passage", 5e-4, 0.01, relative=True),),
)
