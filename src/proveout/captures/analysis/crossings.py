"""Finding edges in samples: a two-threshold detector that times each edge between samples, on every core.

The signal counts as high once it reaches the upper threshold and as low once it falls below the lower one. The edge is
then timed at the last passage of the level between the two, by the straight line between the samples on either side:
noise that stays within the hysteresis makes no edges, and the time does not move with the width of the hysteresis.

Thresholds may differ from one stretch of the record to the next, since the amplitude of a coil grows with speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numba import njit
from numpy.typing import NDArray

from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.lanes import LANES, first_at_least, first_below
from proveout.captures.analysis.passes import on_cores, pieces, readable
from proveout.captures.capture import Clock, Samples
from proveout.errors import InputError

__all__ = ["Thresholds", "crossings", "find_edges", "times_of"]

_UNKNOWN, _LOW, _HIGH = -1, 0, 1

_Detector: TypeAlias = tuple[int, NDArray[Any], NDArray[Any], NDArray[Any], bool]
"""Length of a stretch, the low, middle and high threshold of each, and whether values hold."""


@dataclass(frozen=True)
class Thresholds:
    """A level with hysteresis, the same for the whole record or one for each stretch of it.

    Attributes
    ----------
    low, level, high : (stretch,) float64
        Below `low` the signal counts as low, from `high` on as high; edges are timed at `level`. In the samples' unit,
        low <= level <= high.
    stretch : int
        Samples to which one entry applies; 0 when the only entry holds for the whole record. The last entry holds on.
    """

    low: NDArray[np.float64]
    level: NDArray[np.float64]
    high: NDArray[np.float64]
    stretch: int = 0

    def __post_init__(self) -> None:
        if not (self.low.size == self.level.size == self.high.size >= 1) or (self.low.size > 1) != (self.stretch > 0):
            raise InputError(
                f"thresholds have {self.low.size}, {self.level.size} and {self.high.size} entries for stretches of "
                f"{self.stretch} samples; give one of each, or one of each for every stretch"
            )
        if not np.all((self.low <= self.level) & (self.level <= self.high)):
            raise InputError("thresholds are out of order; each needs low <= level <= high")

    @classmethod
    def at(cls, level: float, hysteresis: float = 0.0) -> Thresholds:
        """Return thresholds half of `hysteresis` below and above one level, for the whole record."""
        half = hysteresis / 2
        return cls(np.array([level - half]), np.array([level]), np.array([level + half]))


@njit(nogil=True, cache=True)
def _reach(x, i, stop, threshold):  # type: ignore[no-untyped-def]
    """Return the first index from i on where x >= threshold, or stop."""
    while i + LANES <= stop:
        ahead = first_at_least(x, i, threshold)
        if ahead < LANES:
            return i + ahead
        i += LANES
    while i < stop and not x[i] >= threshold:
        i += 1
    return i


@njit(nogil=True, cache=True)
def _leave(x, i, stop, threshold):  # type: ignore[no-untyped-def]
    """Return the first index from i on where x < threshold, or stop."""
    while i + LANES <= stop:
        ahead = first_below(x, i, threshold)
        if ahead < LANES:
            return i + ahead
        i += LANES
    while i < stop and not x[i] < threshold:
        i += 1
    return i


@njit(nogil=True, cache=True)
def _place(x, i, level, rising):  # type: ignore[no-untyped-def]
    """Return where, in samples, the signal last passed the level before sample i, which is beyond it."""
    before = i - 1
    while before > 0 and not (x[before] < level if rising else x[before] >= level):
        before -= 1
    after = before + 1
    while after < i and np.isnan(x[after]):
        after += 1
    a, b = np.float64(x[before]), np.float64(x[after])
    share = (np.float64(level) - a) / (b - a) if b != a else 0.5
    if not 0.0 <= share <= 1.0:
        share = 0.5
    return before + share * (after - before)


@njit(nogil=True, cache=True)
def _scan(x, start, stop, state, stretch, low, level, high, holds, positions, rising):  # type: ignore[no-untyped-def]
    """Fill positions and directions of the edges in [start, stop); return their count, the state and where it ended."""
    count, i, last = 0, start, low.size - 1
    while i < stop:
        entry = min(i // stretch, last)
        end = stop if entry == last else min(stop, (entry + 1) * stretch)
        while i < end:
            if state == _UNKNOWN:
                while i < end and not (x[i] >= high[entry] or x[i] < low[entry]):
                    i += 1
                if i < end:
                    state = _HIGH if x[i] >= high[entry] else _LOW
                continue
            i = _reach(x, i, end, high[entry]) if state == _LOW else _leave(x, i, end, low[entry])
            if i == end:
                break
            if count == positions.size:
                return count, state, i
            positions[count] = i if holds else _place(x, i, level[entry], state == _LOW)
            rising[count] = state == _LOW
            state = _HIGH - state
            count += 1
    return count, state, i


@njit(nogil=True, cache=True)
def _state_after(x, start, stop, stretch, low, high):  # type: ignore[no-untyped-def]
    """Return the state in which [start, stop) leaves the detector, unknown when no sample in it decides."""
    last = low.size - 1
    for i in range(stop - 1, start - 1, -1):
        entry = min(i // stretch, last)
        if x[i] >= high[entry]:
            return _HIGH
        if x[i] < low[entry]:
            return _LOW
    return _UNKNOWN


def crossings(
    samples: Samples, thresholds: Thresholds, *, holds: bool = False, threads: int | None = None
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return where the signal passed its level, in samples from the first one, and whether upwards.

    Parameters
    ----------
    samples : (sample,) float32 or float64
        NaN decides nothing: an edge hidden by missing samples is placed by the straight line across them.
    thresholds : Thresholds
    holds : bool
        Whether a value holds until the next one; the edge is then at the sample itself.
    threads : int, optional
        Cores to use; all of them when not given. The result does not depend on it.

    Returns
    -------
    positions : (edge,) float64
    rising : (edge,) bool

    Raises
    ------
    InputError
        If the samples are not one row of floating-point numbers.
    """
    x = readable(samples)
    low, level, high = (part.astype(x.dtype) for part in (thresholds.low, thresholds.level, thresholds.high))
    detector = (thresholds.stretch or max(x.size, 1), low, level, high, holds)
    bounds = pieces(x.size, threads)
    states = [_UNKNOWN]
    for start, stop in bounds[:-1]:
        state = _state_after(x, start, stop, detector[0], low, high)
        states.append(states[-1] if state == _UNKNOWN else state)

    def piece(bound: tuple[int, int], state: int) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
        return _piece(x, bound, state, detector)

    parts = on_cores(piece, bounds, states)
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])


def find_edges(samples: Samples, clock: Clock, thresholds: Thresholds, *, threads: int | None = None) -> Edges:
    """Return the edges of a recorded channel, timed by its clock.

    Even and uneven samples are timed between samples; of a list of value changes (`clock.holds`) the edge is at the
    change itself. Shapes, NaN and errors as in `crossings`.
    """
    positions, rising = crossings(samples, thresholds, holds=clock.holds, threads=threads)
    return Edges(times_of(positions, clock), rising)


def times_of(positions: NDArray[np.float64], clock: Clock) -> NDArray[np.float64]:
    """Return the times [s] of positions in samples, straight between the times of the samples on either side."""
    if clock.times is None:
        return clock.at(positions)
    before = np.minimum(positions.astype(np.int64), clock.times.size - 1)
    after = np.minimum(before + 1, clock.times.size - 1)
    start = clock.times[before]
    return start + (positions - before) * (clock.times[after] - start)


def _piece(
    x: Samples, bound: tuple[int, int], state: int, detector: _Detector
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    start, stop = bound
    positions: list[NDArray[np.float64]] = []
    rising: list[NDArray[np.bool_]] = []
    room = 1024
    while True:
        at, up = np.empty(room), np.empty(room, dtype=np.bool_)
        count, state, start = _scan(x, start, stop, state, *detector, at, up)
        positions.append(at[:count])
        rising.append(up[:count])
        if start >= stop:
            return np.concatenate(positions), np.concatenate(rising)
        room = 1 << 16
