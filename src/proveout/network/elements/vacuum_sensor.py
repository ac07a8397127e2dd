"""A vacuum sensor: a ratiometric output whose share of the supply follows the vacuum at its port."""

from __future__ import annotations

import numpy as np

from proveout.network.domains import ELECTRICAL, PNEUMATIC
from proveout.network.elements._element import Branch, Drive, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["VACUUM_SENSOR"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    share = v["offset"] + (1.0 - 2.0 * v["offset"]) * v["gain"] * v["vacuum"] / v["span"]
    position = np.clip(share, 0.02, 0.98)
    high, low = (1.0 - position) * v["resistance"], position * v["resistance"]
    return (conductance(high), 0.0), (conductance(low), 0.0), (conductance(v["output"]), 0.0)


VACUUM_SENSOR = Element(
    name="vacuum_sensor",
    title="Vacuum sensor",
    terminals=("high", "signal", "low", "outside", "port"),
    parameters={
        "resistance": Parameter("ohm", "resistance from end to end", 4000.0, low=1e-3),
        "output": Parameter("ohm", "resistance in the output", 100.0, low=1e-6),
        "offset": Parameter("1", "share of the supply at no vacuum", 0.1, low=0.0, high=0.45),
        "span": Parameter("Pa", "vacuum at which the output reaches its upper share", 1.0e5, low=1.0),
        "gain": Parameter("1", "true vacuum to shown vacuum", 1.0),
        "vacuum": Parameter("Pa", "vacuum at the port, from the network", 0.0, low=-1e9),
    },
    branches=(
        Branch("linear", ("high", "tap")),
        Branch("linear", ("tap", "low")),
        Branch("linear", ("tap", "signal")),
    ),
    inner=("tap",),
    expand=_expand,
    drive=Drive("vacuum", "outside", "port"),
    domains=(ELECTRICAL, ELECTRICAL, ELECTRICAL, PNEUMATIC, PNEUMATIC, ELECTRICAL),
    faults=(
        FaultMode("dead", "no output", 0.7, "output", float("inf"), float("inf"), intermittent=True),
        FaultMode("reads_low", "shows too little vacuum", 1.0, "gain", 0.1, 0.75),
        FaultMode("reads_high", "shows too much vacuum", 0.5, "gain", 1.3, 3.0),
    ),
)
