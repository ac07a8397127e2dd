"""An engine's intake manifold as a source of vacuum, by speed and load.

At closed throttle the absolute pressure hardly hangs on altitude: the engine needs the same charge to turn itself. The
vacuum is what the air has above it, so it falls by what the air loses: about an inch of mercury for each thousand feet
(common practice). The throttle lets the pressure rise with load up to that of the air.
"""

from __future__ import annotations

import numpy as np

from proveout.network.domains import PNEUMATIC
from proveout.network.elements._air import AIR_PRESSURE
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.gas import AIR, kelvin
from proveout.network.laws import Array

__all__ = ["MANIFOLD"]

OVERRUN = 0.35  # exponent with which the closed-throttle pressure falls as speed rises: from memory


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    turns = np.maximum(v["speed"], 1.0) / 60.0
    # What a four-stroke engine swallows for each pascal in its manifold.
    swallows = 0.5 * turns * v["displacement"] * v["filling"] / (AIR * kelvin(v["temperature"]))
    if not on:
        return ((swallows, 0.0),)
    closed = v["idle_pressure"] * (v["idle_speed"] / np.maximum(v["speed"], 1.0)) ** OVERRUN
    inside = closed + v["load"] * (v["air"] - closed)
    return ((swallows, swallows * np.minimum(inside - v["air"], 0.0)),)


MANIFOLD = Element(
    name="manifold",
    title="Intake manifold",
    terminals=("outlet", "outside"),
    parameters={
        "idle_pressure": Parameter("Pa", "absolute pressure at warm idle, throttle closed", 33.6e3, low=1e3),
        "idle_speed": Parameter("1/min", "idle speed", 800.0, low=1.0),
        "speed": Parameter("1/min", "engine speed", 800.0),
        "load": Parameter("1", "share of the way from closed to open throttle", 0.0, high=1.0),
        "displacement": Parameter("m3", "displacement of the engine", 1.6e-3, low=1e-6),
        "filling": Parameter("1", "volumetric efficiency", 0.8, low=0.01),
        "temperature": Parameter("°C", "temperature of the charge", 40.0, low=-60.0, high=400.0),
        "air": AIR_PRESSURE,
    },
    branches=(Branch("linear", ("outlet", "outside")),),
    expand=_expand,
    switched=True,
    domains=(PNEUMATIC,),
    faults=(
        FaultMode(
            "weak",
            "engine makes little vacuum (timing, valves)",
            1.0,
            "idle_pressure",
            1.25,
            2.3,
            relative=True,
        ),
    ),
)
