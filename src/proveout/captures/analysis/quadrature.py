"""Two tracks a quarter of a period apart: which way the shaft turned, and how far."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.reversals import Reversal, reversals

__all__ = ["Quadrature", "quadrature"]

_STEADY = 0.9
_QUARTER = (0.08, 0.42)
"""Range of the shift of one track against the other, in periods, that still tells the direction."""


@dataclass(frozen=True)
class Quadrature:
    """Two tracks read together.

    Attributes
    ----------
    times : (step,) float64
        Time of every edge of either track after the first of each [s].
    sense : (step,) int8
        1 where the first track leads, -1 where it follows, 0 where an edge came twice on one track (one was lost).
    position : (step,) int64
        Quarters of a period since the first edge.
    shift : float
        Median shift of the second track after the first while turning in the main sense [periods].
    steady : float
        Share of the steps that go the same way as the step before, 0 to 1.
    reversals : tuple of Reversal
    """

    times: NDArray[np.float64]
    sense: NDArray[np.int8]
    position: NDArray[np.int64]
    shift: float
    steady: float
    reversals: tuple[Reversal, ...]

    @property
    def plausible(self) -> bool:
        """Whether the two tracks belong together: a steady direction and about a quarter of a period apart."""
        return self.steady >= _STEADY and _QUARTER[0] <= self.shift % 0.5 <= _QUARTER[1]


def quadrature(first: Edges, second: Edges) -> Quadrature:
    """Return direction and position from two tracks.

    Parameters
    ----------
    first, second : Edges
        Of the two tracks on one time base.
    """
    times = np.concatenate([first.times, second.times])
    order = np.argsort(times, kind="stable")
    track = np.repeat([0, 1], [first.times.size, second.times.size])[order]
    up = np.concatenate([first.rising, second.rising])[order]
    times = times[order]
    level = [_held(track == k, up) for k in (0, 1)]
    known = (level[0] >= 0) & (level[1] >= 0)
    phase = np.where(level[0] == 1, np.where(level[1] == 1, 1, 0), np.where(level[1] == 1, 2, 3))
    phase, times, track = phase[known], times[known], track[known]
    steps = (np.diff(phase) + 1) % 4 - 1
    sense = np.where(steps == 2, 0, steps).astype(np.int8)
    same = sense[1:][(sense[1:] != 0) & (sense[:-1] != 0)] == sense[:-1][(sense[1:] != 0) & (sense[:-1] != 0)]
    return Quadrature(
        times[1:],
        sense,
        np.cumsum(sense.astype(np.int64)),
        _shift(first.up(), second.up()),
        float(np.mean(same)) if same.size else 0.0,
        reversals(times[1:], sense),
    )


def _held(own: NDArray[np.bool_], up: NDArray[np.bool_]) -> NDArray[np.int8]:
    """Return the level of one track after every edge of either, -1 before its first one."""
    at = np.maximum.accumulate(np.where(own, np.arange(own.size), -1))
    return np.where(at < 0, -1, up[np.maximum(at, 0)]).astype(np.int8)


def _shift(first: NDArray[np.float64], second: NDArray[np.float64]) -> float:
    """Return the median time from a rising edge of the first track to the next of the second, in periods."""
    if first.size < 3 or second.size < 2:
        return float("nan")
    periods = np.diff(first)
    after = np.searchsorted(second, first[:-1])
    good = after < second.size
    return float(np.median((second[after[good]] - first[:-1][good]) / periods[good] % 1.0)) if good.any() else np.nan
