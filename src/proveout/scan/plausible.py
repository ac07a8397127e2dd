"""What cannot be right in a logged parameter: values that its field cannot carry, jumps, a trace that would boil."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from proveout.network.thermal import boiling_point
from proveout.scan.parameters import Parameter

__all__ = ["Doubt", "doubts_of"]

Array = NDArray[np.float64]

CAP = 101_325.0 + 150.0e3  # Pa, absolute, under the strongest caps in use: common practice, 1.5 bar
ZERO_CELSIUS = 273.15
STEEPEST = 3.0  # K/s that coolant temperature can change: common practice, a sensor's lag is seconds
LEAST_JUMP = 8.0  # K
SPAN = 2.0  # s
WARM = 130.0


@dataclass(frozen=True)
class Doubt:
    """One thing that cannot be right: which parameter, what kind, and the sentence to show."""

    parameter: str
    kind: Literal["range", "boils", "jump"]
    text: str


def doubts_of(parameter: Parameter, times: Array, values: Array) -> tuple[Doubt, ...]:
    """Return what cannot be right in a series; nothing is taken out of it."""
    found = [_range(parameter, values)]
    if parameter.name == "coolant":
        found += [_boils(parameter, values), _jumps(parameter, times, values)]
    return tuple(doubt for doubt in found if doubt is not None)


def _range(parameter: Parameter, values: Array) -> Doubt | None:
    outside = (values < parameter.low) | (values > parameter.high)
    if not outside.any():
        return None
    worst = values[outside][0]
    text = (
        f"{parameter.title.lower()} is {worst:g} {parameter.unit} at some time; the standard's field carries "
        f"{parameter.low:g} to {parameter.high:g} {parameter.unit}: look at the unit in the column's heading"
    )
    return Doubt(parameter.name, "range", text)


def _boils(parameter: Parameter, values: Array) -> Doubt | None:
    hottest, boils = float(values.max()), float(boiling_point(CAP, 0.5)) - ZERO_CELSIUS
    if hottest <= boils:
        return None
    text = (
        f"coolant would reach {hottest:.0f} °C, and half-and-half coolant boils at {boils:.0f} °C even under a cap of "
        f"150 kPa; read as Fahrenheit that is {(hottest - 32) / 1.8:.0f} °C: say whether the column is in °F"
    )
    return Doubt(parameter.name, "boils", text)


def _jumps(parameter: Parameter, times: Array, values: Array) -> Doubt | None:
    """Find a change within a moment that no coolant makes; across a silence nothing is said."""
    if values.size < 2:
        return None
    step, span = np.diff(values), np.diff(times)
    quick = (np.abs(step) > LEAST_JUMP) & (np.abs(step) > STEEPEST * span) & (span < SPAN)
    if not quick.any():
        return None
    k = int(np.flatnonzero(quick)[0])
    text = (
        f"coolant temperature jumps from {values[k]:.0f} to {values[k + 1]:.0f} °C at {times[k + 1]:.0f} s "
        f"({int(quick.sum())} such jumps): no coolant does that, so suspect the sensor's plug, or rows from two drives"
    )
    return Doubt(parameter.name, "jump", text)
