"""A potentiometer, and a ratiometric sensor whose output behaves like one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["POTENTIOMETER", "RATIOMETRIC"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    position = np.clip(v["position"] * v["gain"], 0.0, 1.0)
    track = v["resistance"]
    high = np.maximum((1.0 - position) * track, v["end_resistance"]) + v["extra_high"]
    low = np.maximum(position * track, v["end_resistance"]) + v["extra_low"]
    return (conductance(high), 0.0), (conductance(low), 0.0), (conductance(v["wiper"]), 0.0)


_PARAMETERS = {
    "resistance": Parameter("ohm", "resistance from end to end", 4000.0, low=1e-3),
    "position": Parameter("1", "share of the way from the low to the high end", None, low=0.0, high=1.0),
    "gain": Parameter("1", "true position to shown position", 1.0),
    "wiper": Parameter("ohm", "resistance in the wiper or output", 10.0, low=1e-6),
    "end_resistance": Parameter("ohm", "least resistance at either end", 1.0, low=1e-6),
    "extra_high": Parameter("ohm", "resistance added at the high end by damage", 0.0),
    "extra_low": Parameter("ohm", "resistance added at the low end by damage", 0.0),
}
_BRANCHES = (
    Branch("linear", ("high", "tap")),
    Branch("linear", ("tap", "low")),
    Branch("linear", ("tap", "wiper")),
)

POTENTIOMETER = Element(
    name="potentiometer",
    title="Potentiometer",
    terminals=("high", "wiper", "low"),
    parameters=_PARAMETERS,
    branches=_BRANCHES,
    inner=("tap",),
    expand=_expand,
    faults=(
        FaultMode("wiper_open", "wiper has no contact", 1.0, "wiper", float("inf"), float("inf"), intermittent=True),
        FaultMode("wiper_resistive", "wiper worn, resistance", 0.5, "wiper", 2.0e3, 1.0e6),
        FaultMode("track_open_high", "track broken at the high end", 0.5, "extra_high", float("inf"), float("inf")),
        FaultMode("track_open_low", "track broken at the low end", 0.5, "extra_low", float("inf"), float("inf")),
        FaultMode("offset", "shows another position", 0.5, "gain", 0.05, 0.85),
    ),
)

RATIOMETRIC = replace(
    POTENTIOMETER,
    name="ratiometric",
    title="Ratiometric sensor",
    faults=(
        FaultMode("dead", "no output", 1.0, "wiper", float("inf"), float("inf"), intermittent=True),
        FaultMode("reads_low", "output too low", 0.5, "gain", 0.05, 0.85),
        FaultMode("reads_high", "output too high", 0.5, "gain", 1.2, 10.0),
        FaultMode("supply_open", "supply side open inside", 0.4, "extra_high", float("inf"), float("inf")),
        FaultMode("ground_open", "ground side open inside", 0.4, "extra_low", float("inf"), float("inf")),
    ),
)
