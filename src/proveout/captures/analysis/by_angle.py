"""A signal over the angle of its wheel: turns laid on one another, so that two captures at other speeds compare."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.turn_grid import TurnGrid
from proveout.captures.capture import Clock, Samples

__all__ = ["OverTurn", "by_angle"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class OverTurn:
    """A signal over one turn.

    Attributes
    ----------
    angles : (place,) float64
        Middle of each place [turns, 0 to 1].
    low, middle, high : (place,) float64
        Tenth, fiftieth and ninetieth percentile over the turns [unit of the samples]; NaN where no sample lies.
    turns : int
        Turns that were laid on one another.
    """

    angles: Floats
    low: Floats
    middle: Floats
    high: Floats
    turns: int


def by_angle(samples: Samples, clock: Clock, grid: TurnGrid, *, places: int = 1440, most: int = 64) -> OverTurn:
    """Return a signal over the angle of its wheel.

    Parameters
    ----------
    samples : (sample,) float32 or float64
    clock : Clock
    grid : TurnGrid
        Of that signal or of another one on the same clock's time.
    places : int
        Places in a turn.
    most : int
        Turns to take, spread over the record.
    """
    seen = grid.seen.ravel()
    times, angles = grid.times.ravel()[seen], grid.turn_angles.ravel()[seen]
    whole = grid.whole
    chosen = whole[np.linspace(0, whole.size - 1, min(most, whole.size)).astype(np.intp)] if whole.size else whole
    middles = (np.arange(places) + 0.5) / places
    rows = np.full((max(chosen.size, 1), places), np.nan)
    for row, turn in enumerate(chosen):
        rows[row] = _sampled(samples, clock, np.interp(turn + middles, angles, times, left=np.nan, right=np.nan))
    empty = ~np.isfinite(rows).any(axis=0)
    rows[:, empty] = 0.0
    bands = np.nanpercentile(rows, [10, 50, 90], axis=0)
    bands[:, empty] = np.nan
    return OverTurn(middles, bands[0], bands[1], bands[2], int(chosen.size))


def _sampled(samples: Samples, clock: Clock, times: Floats) -> Floats:
    """Return the signal at those times, straight between samples or held; NaN outside of the record."""
    if clock.times is None:
        place = (times - clock.start) * float(clock.rate or 1.0)
    else:
        place = np.interp(times, clock.times, np.arange(clock.times.size), left=np.nan, right=np.nan)
    inside = (place >= 0) & (place <= samples.size - 1)
    before = np.where(inside, place, 0).astype(np.int64)
    after = np.minimum(before + 1, samples.size - 1)
    first = samples[before].astype(np.float64)
    share = 0.0 if clock.holds else place - before
    return np.where(inside, first + share * (samples[after] - first), np.nan)
