"""What a sound thermostat would have shown under the same drive and weather, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from proveout.diagnosis.warmup.drive import STEP
from proveout.diagnosis.warmup.equations import NAMES, sensor_traces
from proveout.diagnosis.warmup.fit import WarmUpFit
from proveout.diagnosis.warmup.priors import LEAKAGE, priors

__all__ = ["RATING", "HealthyTrace", "healthy_trace"]

Array = NDArray[np.float64]

RATING = 361.0  # K, 190 F: common practice
TIGHT = 0.005  # share that a sound valve lets past its vent pin, from memory
DRAWS, SEED = 64, 5
STRIDE = 5
QUANTILES = (0.025, 0.5, 0.975)
OPENING = NAMES.index("opening")


@dataclass(frozen=True)
class HealthyTrace:
    """Times (reading,) [s], and the 2.5 %, 50 % and 97.5 % points of the sound trace, (3, reading) [K]."""

    times: Array
    coolant: Array

    def reaches(self, temperature: float) -> Array:
        """Return when the three traces first reach a temperature [s], infinite where they do not, (3,)."""
        there = self.coolant >= temperature
        first = np.where(there.any(axis=1), self.times[there.argmax(axis=1)], np.inf)
        return np.asarray(first)


def healthy_trace(fit: WarmUpFit, rating: float = RATING) -> HealthyTrace:
    """Return the trace of the same vehicle with a sound thermostat.

    All that the fit does not know of the engine is drawn from its posterior, from a fixed seed; opening temperature and
    leakage are those of a sound valve.

    Parameters
    ----------
    fit : WarmUpFit
    rating : float [K]
        At which a sound valve starts to open.
    """
    places = _drawn(fit, np.random.default_rng(SEED))
    values = priors().physical(places)
    values[:, OPENING], values[:, LEAKAGE] = rating, np.minimum(values[:, LEAKAGE], TIGHT)
    traces = sensor_traces(fit.drive, values, STRIDE)
    times = (np.arange(traces.shape[1]) + 0.5) * STRIDE * STEP
    return HealthyTrace(np.asarray(times, dtype=float), np.quantile(traces, QUANTILES, axis=0))


def _drawn(fit: WarmUpFit, rng: np.random.Generator) -> Array:
    """Return parameters drawn from the posterior (draw, parameter), its leakage cut off at nothing."""
    mean, variance = fit.places[LEAKAGE], fit.spread[LEAKAGE, LEAKAGE]
    tail = ndtr(-mean / np.sqrt(variance))
    leakage = mean - np.sqrt(variance) * ndtri((1.0 - tail) * rng.uniform(size=DRAWS))
    leakage = np.maximum(leakage, 0.0)
    root = np.linalg.cholesky(fit.spread + 1e-12 * np.eye(fit.places.size))
    free = fit.places + rng.standard_normal((DRAWS, fit.places.size)) @ root.T
    # Kriging of the rest upon the leakage (Chiles and Delfiner 1999): free + C (leakage - free leakage) / variance.
    return np.asarray(free + np.outer(leakage - free[:, LEAKAGE], fit.spread[:, LEAKAGE] / variance))
