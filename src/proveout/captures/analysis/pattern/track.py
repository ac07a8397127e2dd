"""Every edge of a long record on its place: a plain pass while edges fit, joint decoding around those that do not."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from proveout.captures.analysis.pattern.follow import Noise, Path, Prices, _advance, _predict, follow

__all__ = ["track"]

Array = NDArray[np.float64]

_BEFORE = 24  # edges decoded again before one that does not fit
_AFTER = 40  # and after it, beside two turns
_MISFIT = 7.0  # half the squared error over its variance
_HEAD = 200


def track(times: Array, steps: Array, noise: Noise, prices: Prices) -> Path:
    """Return the place of each edge (-1: extra) and whether the count starts anew there, as `follow` does.

    Parameters
    ----------
    times : (edge,) float64 [s]
    steps : (place,) float64
        Angle from each place to the next [pitches].
    noise, prices
        As for `follow`.
    """
    place, fresh = np.full(times.size, -1, np.int64), np.zeros(times.size, np.bool_)
    window = _AFTER + 2 * steps.size
    done, known = 0, -1
    end = min(times.size, _HEAD + 2 * window)
    while True:
        path = follow(times[done:end], steps, noise, prices, known)
        place[done:end], fresh[done + 1 : end] = path.place, path.fresh[1:]
        if end == times.size:
            return Path(place, fresh, float("nan"))
        sure = _last_placed(place, end - window // 2)
        misfit = _run(times, steps, noise.sigma, noise.accel, prices.outlier, place, sure, _MISFIT)
        if misfit == times.size:
            return Path(place, fresh, float("nan"))
        done = _last_placed(place, max(sure, misfit - _BEFORE))
        known, end = int(place[done]), min(times.size, misfit + window)


def _last_placed(place: NDArray[np.int64], index: int) -> int:
    """Return the last edge up to `index` that stands on a place."""
    return int(np.flatnonzero(place[: index + 1] >= 0)[-1])


@njit(cache=True, nogil=True)
def _run(times, steps, sigma, accel, outlier, place, first, misfit):  # type: ignore[no-untyped-def]
    """Put edges after `first` on one place after the other; return the first that does not fit, or their number."""
    row, new = np.zeros(7), np.zeros(7)
    p = place[first]
    angle = steps[p]
    row[0] = np.log((times[first + 1] - times[first]) / angle)
    row[2], row[4], row[5], row[6] = 1.0, accel * accel + 0.01, angle, times[first]
    for k in range(first + 1, times.size):
        angle = steps[p]
        error, variance, _, _, _, _ = _predict(row, angle, times[k] - row[6], sigma, accel)
        if 0.5 * error * error / variance > misfit:
            return k
        _advance(row, new, angle, times[k], sigma, accel, outlier)
        row, new = new, row
        p = p + 1 if p + 1 < steps.size else 0
        place[k] = p
    return times.size
