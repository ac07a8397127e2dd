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
_MOST_ADDED = 2
"""Lost and extra edges that a new look at the first turn may add: more is a run-up from rest taken for losses."""
_NONE = int(np.iinfo(np.int64).min)
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


def _changes(count: NDArray[np.int64]) -> int:
    """Return the teeth lost and the edges left out in a train of counts."""
    known = count[count != _NONE]
    return int(np.sum(np.abs(np.diff(known) - 1)) + np.sum(count == _NONE))


def sharpened(fit: WheelFit) -> WheelFit:
    """Return the fit with the edges about lost and extra ones decoded again; unchanged where there is no wheel.

    The first and the last turn are always decoded again, from the side on which the place is known: a tooth lost before
    the first gap or behind the last one leaves no other trace than a step in the tempo.
    """
    if fit.wheel is None:
        return fit
    teeth, steps = fit.wheel.teeth, _steps(fit.wheel)
    windows = list(_windows(fit, teeth))
    if np.count_nonzero(fit.place >= 0) < 3 * teeth or sum(last - first for first, last in windows) > _MOST:
        return fit
    noise = _noise(fit, steps)
    count = np.where(fit.place >= 0, fit.turn * teeth + fit.place, _NONE)
    for first, last in windows:
        _again(fit.times, count, (first, last), steps, noise, anchored=last < fit.times.size)
    end = teeth + _AFTER + _BEFORE
    _again(fit.times, count, (_known_after(count, count.size - end), count.size), steps, noise, anchored=False)
    # Read backwards, the first turn is the last one: time and angle run the other way.
    back, backwards = np.roll(steps[::-1], -1), np.where(count == _NONE, _NONE, -1 - count)[::-1].copy()
    head = (_known_after(backwards, count.size - end), count.size)
    _again(-fit.times[::-1], backwards, head, back, noise, anchored=False)
    ahead = np.where(backwards == _NONE, _NONE, -1 - backwards)[::-1]
    if _changes(ahead) <= _changes(count) + _MOST_ADDED:
        count = ahead
    return _numbered(fit, count, teeth)


def _again(times: Array, count: Whole, window: tuple[int, int], steps: Array, noise: Noise, *, anchored: bool) -> None:
    """Decode a window again from its first edge, and write the teeth counted where that needs no more extra edges.

    An anchored window must end on the tooth on which it ended before.
    """
    first, last = window
    path = follow(times[first:last], steps, noise, _PRICES, int(count[first] % steps.size))
    kept = np.flatnonzero(path.place >= 0)
    found = np.full(last - first, _NONE)
    ahead = (np.diff(path.place[kept]) - 1) % steps.size + 1
    found[kept] = count[first] + np.concatenate([[0], np.cumsum(ahead)])
    end = int(kept[-1])
    more = np.count_nonzero(found[: end + 1] == _NONE) > np.count_nonzero(count[first : first + end + 1] == _NONE)
    if path.fresh[1:].any() or more or (anchored and found[end] != count[first + end]):
        return
    count[first:last] = found


def _known_after(count: Whole, wanted: int) -> int:
    known = np.flatnonzero(count != _NONE)
    return int(known[min(int(np.searchsorted(known, max(wanted, 0))), known.size - 1)])


def _numbered(fit: WheelFit, count: Whole, teeth: int) -> WheelFit:
    known = count != _NONE
    least = int(count[known].min())
    count = np.where(known, count - min(least // teeth, 0) * teeth, _NONE)
    place = np.where(known, count % teeth, -1)
    turn = np.where(known, count // teeth, -1)
    return replace(fit, place=place, turn=turn, lost=lost_of(count[known], teeth))


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
