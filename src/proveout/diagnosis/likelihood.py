"""How likely a reading is under predicted values, and how far an instrument spreads what it shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, ndtr

from proveout.instruments import Function, Meter, Reading
from proveout.network.laws import Array

__all__ = ["FLOOR", "Likelihood", "reading_likelihood", "reading_variance", "shown_spread", "taken_variance"]

FLOOR = -700.0  # least log likelihood: what is impossible stays a number
UNMODELLED = {"voltage": 5.0e-3, "vacuum": 500.0, "pressure": 500.0, "temperature": 0.5, "count": 0.3}
"""Standard deviation of what the drawing leaves out, by kind, in the kind's unit.

Voltage: thermal and contact potentials, a ground that is not quite one (common practice: a few millivolts on any
vehicle). Pressure: the weather of the hour and the engine's unrest. Temperature: a place that is not quite the one
meant. Count: no two strokes of a foot are alike. The last three from memory.
"""
EDGE = 0.01  # standard deviation of where a display goes over its limit, as a share of the limit


@dataclass(frozen=True)
class Likelihood:
    """Log likelihood of one reading, (G,), and what the filter needs: innovation (G,) and its variance (G,)."""

    log: Array
    innovation: Array
    variance: Array


def reading_variance(meter: Meter, function: Function, value: float, resolution: float) -> float:
    """Return the variance of what the instrument shows about the computed value, its leads apart."""
    return float(meter.standard_error(function, value, resolution)) ** 2 + UNMODELLED.get(function.kind, 0.0) ** 2


def taken_variance(meter: Meter, function: Function, reading: Reading) -> float:
    """Return the variance of a reading with a value about what was computed: its own, or that of the meter."""
    if reading.uncertainty is not None:
        return reading.uncertainty**2 + UNMODELLED.get(function.kind, 0.0) ** 2
    value = float(reading.value if reading.value is not None else np.nan)
    return reading_variance(meter, function, value, reading.resolution)


def reading_likelihood(
    meter: Meter, function: Function, reading: Reading, centre: Array, variance: Array
) -> Likelihood:
    """Return the likelihood of a reading under predicted values `centre` with `variance`, (G,) each."""
    top = meter.span(function)[1]
    if reading.over_limit:
        spread = np.sqrt(variance + (EDGE * top) ** 2)
        return Likelihood(log_ndtr((np.abs(centre) - top) / spread), np.zeros_like(centre), np.ones_like(centre))
    value = float(reading.value if reading.value is not None else np.nan)
    total = variance + taken_variance(meter, function, reading)
    away = value - centre
    log = -0.5 * (away**2 / total + np.log(2.0 * np.pi * total))
    return Likelihood(np.maximum(log, FLOOR), away, total)


def shown_spread(meter: Meter, function: Function, centre: Array, variance: Array) -> tuple[Array, Array]:
    """Return P(over limit) and the standard deviation of what is shown, in the shape of `centre`."""
    top = meter.span(function)[1]
    over = ndtr((np.abs(centre) - top) / np.sqrt(variance + (EDGE * top) ** 2))
    error = meter.standard_error(function, np.clip(centre, -top, top))
    return over, np.sqrt(variance + error**2 + UNMODELLED.get(function.kind, 0.0) ** 2)
