"""Lost and extra edges put on their exact tooth.

The wheel is found under loose assumptions of speed and teeth, so that any pattern has a chance. With the wheel known,
the stretches about lost and extra edges are decoded again under the scatter that the record itself shows, in which a
tooth lost in the middle of a turn cannot pass for one lost at the gap. What comes out is taken where it needs no more
lost and extra edges than before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.pattern.follow import Noise, Prices, follow
from proveout.captures.analysis.wheel import Wheel, WheelFit

__all__ = ["likeliest_noise", "lost_of", "sharpened"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

_NOISES = tuple(Noise(sigma, accel) for sigma in (0.01, 0.03, 0.08) for accel in (0.004, 0.02, 0.1, 0.3))
_PRICES = Prices(outlier=60.0, beam=80.0)
_STRETCH = 400
_AFTER = 20
_BEFORE = 8
_MOST = 40_000
"""Edges that are decoded again at most; a record with more trouble than that stays as it was."""


def likeliest_noise(times: Array, steps: Array, start: int) -> Noise:
    """Return the scatter of intervals and speed under which edges are likeliest.

    Parameters
    ----------
    times : (edge,) float64 [s]
    steps : (place,) float64
        Angle from each place to the next [pitches].
    start : int
        Place of the first edge.
    """
    return max(_NOISES, key=lambda noise: follow(times, steps, noise, _PRICES, start).score)


def lost_of(count: Whole, teeth: int) -> Whole:
    """Return turn and place of every tooth between the first and the last that is not counted, (lost, 2)."""
    jumps = np.flatnonzero(np.diff(count) > 1)
    missing = [np.arange(count[k] + 1, count[k + 1]) for k in jumps]
    flat = np.concatenate(missing) if missing else np.empty(0, dtype=np.int64)
    return np.stack([flat // teeth, flat % teeth], axis=1)


def sharpened(fit: WheelFit) -> WheelFit:
    """Return the fit with the edges about lost and extra ones decoded again; unchanged where there is no wheel."""
    if fit.wheel is None:
        return fit
    windows = list(_windows(fit, fit.wheel.teeth))
    if not windows or sum(last - first for first, last in windows) > _MOST:
        return fit
    steps = _steps(fit.wheel)
    noise = _noise(fit, steps)
    place, turn = fit.place.copy(), fit.turn.copy()
    for first, last in windows:
        path = follow(fit.times[first:last], steps, noise, _PRICES, int(place[first]))
        turns = _turns(path.place, int(turn[first]))
        end = int(np.flatnonzero(path.place >= 0)[-1])
        whole = slice(first, first + end + 1)
        agrees = path.place[end] == fit.place[first + end] and turns[end] == fit.turn[first + end]
        if agrees and not path.fresh[1:].any() and _extra(path.place[: end + 1]) <= _extra(fit.place[whole]):
            place[first:last], turn[first:last] = path.place, turns
    known = place >= 0
    return replace(
        fit, place=place, turn=turn, lost=lost_of(turn[known] * fit.wheel.teeth + place[known], fit.wheel.teeth)
    )


def _extra(place: Whole) -> int:
    """Return the number of edges that stand on no tooth; between the same two teeth, as many fewer are then lost."""
    return int(np.count_nonzero(place < 0))


def _steps(wheel: Wheel) -> Array:
    steps = np.diff([*wheel.angles, 1.0])
    return steps / np.median(steps)


def _windows(fit: WheelFit, teeth: int) -> Iterator[tuple[int, int]]:
    """Yield stretches from a turn before to somewhat after every lost or extra edge, overlapping ones joined."""
    known = np.flatnonzero(fit.place >= 0)
    count = fit.turn[known] * teeth + fit.place[known]
    odd = np.union1d(known[1:][np.diff(count) > 1], np.flatnonzero(fit.place < 0))
    if odd.size == 0:
        return
    for run in np.split(odd, np.flatnonzero(np.diff(odd) > teeth + _AFTER + _BEFORE) + 1):
        wanted = max(int(run[0]) - teeth - _BEFORE, int(known[0]))
        first = int(known[np.searchsorted(known, wanted)])
        yield first, min(int(run[-1]) + _AFTER, fit.times.size)


def _noise(fit: WheelFit, steps: Array) -> Noise:
    known = np.flatnonzero(fit.place >= 0)
    first = int(known[max(known.size - _STRETCH, 0) // 2])
    return likeliest_noise(fit.times[first : first + _STRETCH], steps, int(fit.place[first]))


def _turns(place: Whole, start: int) -> Whole:
    """Return the turn of each edge, counted on whenever the place does not increase; -1 for an extra edge."""
    kept = np.flatnonzero(place >= 0)
    turns = np.full(place.size, -1, dtype=np.int64)
    turns[kept] = start + np.concatenate([[0], np.cumsum(np.diff(place[kept]) <= 0)])
    return turns
