"""How probable readings are once a thermostat holds the temperature.

About a level near the opening temperature they wander as a Gauss-Markov process, for the valve hunts and the load
changes. The level is not known exactly: it is integrated out in closed form.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.warmup.whitening import whitening

__all__ = ["held_log_densities"]

Array = NDArray[np.float64]

HUNTING = (0.5, 1.0, 2.0, 3.5, 6.0)  # K, standard deviations among which the readings choose
LOWER, LEVEL = 1.5, 2.5  # K, mean and standard deviation of how far the level is below the opening temperature


def held_log_densities(
    values: Array, readings: NDArray[np.intp], temperatures: Array, white: float, interval: float
) -> Array:
    """Return log p(readings from each point on | held about that temperature), (point,).

    Parameters
    ----------
    values : (reading,) float [K]
    readings : (point,) int
        First reading of each; the number of readings for one that never comes.
    temperatures : (point,) float [K]
        Of the wax at each point.
    white : float [K]
        Standard deviation of the readings themselves.
    interval : float [s]
        Between readings.
    """
    return np.array(
        [
            _log_density(values[first:] - level + LOWER, white, interval) if first < values.size else 0.0
            for first, level in zip(readings, temperatures, strict=True)
        ]
    )


def _log_density(residual: Array, white: float, interval: float) -> float:
    return max(_about_a_level(residual, drift, white, interval) for drift in HUNTING)


def _about_a_level(residual: Array, drift: float, white: float, interval: float) -> float:
    filter_ = whitening(drift, white, interval)
    innovation, level = filter_.applied(np.stack([residual, np.ones_like(residual)]))
    certainty = float(level @ level) + 1.0 / LEVEL**2
    fit = float(innovation @ innovation) - float(innovation @ level) ** 2 / certainty
    return -0.5 * fit - 0.5 * np.log(certainty * LEVEL**2) - residual.size * filter_.log_norm
