"""When exactly a trace leaves what it would have been with the valve shut: two-phase regression.

Before the knee the residual (trace less shut valve) stays about one value or drifts a little, after it it falls away as
s (t - knee)^n, n being 1 or 2, for the valve opens little by little. Source of the method: Hinkley 1969, Biometrika 56,
495.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["knee_chances"]

Array = NDArray[np.float64]

BEFORE, AFTER = 120.0, 180.0  # s, of the trace that is looked at
DEPARTURE = 4.0  # K below what it was: further down the fall is not the knee's shape any more
STEP = 1.0  # s between the knees that are tried
LATER, NEARBY = 15.0, 30.0  # s, mean and standard deviation of the knee about where it is looked for
LEAST_NOISE = 0.35  # K
SLOPE = 0.01  # K/s, standard deviation of a slope that the residual has before the knee
POWERS = (1, 2)


def knee_chances(times: Array, residual: Array, about: int) -> tuple[Array, Array]:
    """Return times of the knee (knee,) [s] and the probability of each, near reading `about`.

    Parameters
    ----------
    times, residual : (reading,) float [s], [K]
    about : int
        A reading within about a minute of the knee.
    """
    start = times[min(about, times.size - 1)]
    chosen = (times >= start - BEFORE) & (times <= start + AFTER)
    t, r = times[chosen], residual[chosen]
    usual = float(np.median(r[t <= start])) if (t <= start).any() else float(r[0])
    gone = np.flatnonzero((r < usual - DEPARTURE) & (t > start))
    if gone.size:
        t, r = t[: gone[0] + 1], r[: gone[0] + 1]
    knees = np.arange(t[0], t[-1] + 0.5 * STEP, STEP)
    misfit = np.min([_misfits(t, r, knees, power) for power in POWERS], axis=0)
    noise = max(LEAST_NOISE**2, float(misfit.min()) / t.size)
    cost = 0.5 * (misfit - misfit.min()) / noise + 0.5 * ((knees - start - LATER) / NEARBY) ** 2
    chance = np.exp(cost.min() - cost)
    return knees, chance / chance.sum()


def _misfits(t: Array, r: Array, knees: Array, power: int) -> Array:
    """Return the least sum of squares of each knee, (knee,), the fall being at least nothing.

    The course before the knee, a level and a slight slope, is projected out; one more row holds the slope to its prior.
    """
    course = np.column_stack([np.ones_like(t), t - t[0]])
    course = np.vstack([course, [0.0, LEAST_NOISE / SLOPE]])
    basis, _ = np.linalg.qr(course)
    fall = np.maximum(t - knees[:, None], 0.0) ** power
    falls, residual = np.pad(fall, ((0, 0), (0, 1))), np.append(r, 0.0)
    falls = falls - (falls @ basis) @ basis.T
    residual = residual - basis @ (basis.T @ residual)
    spread = np.maximum(np.einsum("kr,kr->k", falls, falls), 1e-12)
    slope = np.minimum(falls @ residual / spread, 0.0)
    return np.asarray(residual @ residual - 2.0 * slope * (falls @ residual) + slope**2 * spread)
