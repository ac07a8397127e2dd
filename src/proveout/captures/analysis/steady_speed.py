"""Cranking and idle speed: stretches of even speed, turn by turn over the same tooth.

The time of a whole turn over one tooth does not depend on where the teeth stand, so these speeds need no learning.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.turn_grid import TurnGrid

__all__ = ["SteadySpeed", "TurnSpeeds", "steady_speeds", "turn_speeds"]

Array = NDArray[np.float64]
CRANKING = (60.0 / 60.0, 400.0 / 60.0)
"""Speeds at which a starter turns an engine [turns/s], 60 to 400 rpm (common practice: 150 to 300 rpm when sound)."""
IDLE = (450.0 / 60.0, 1300.0 / 60.0)
"""Speeds at which an engine idles, cold or warm [turns/s], 450 to 1300 rpm (common practice)."""
SAME = 0.15
"""Share by which a turn's speed may differ from the stretch's median and still belong to it."""
LEAST_TURNS = 4
DRIFT = 0.05
"""Share by which the halves of a stretch may differ: beyond it the engine is running up or down."""


@dataclass(frozen=True)
class TurnSpeeds:
    """Middle time (turn,) [s] and mean speed (turn,) [turns/s] of each turn, NaN where no tooth was seen twice."""

    times: Array
    speed: Array


@dataclass(frozen=True)
class SteadySpeed:
    """A stretch of even speed.

    Attributes
    ----------
    kind : str
        `cranking`, `idle` or `other`, by the speed alone and for a wheel on the crankshaft.
    speed, uncertainty : float
        Mean and its standard uncertainty from the scatter of the turns [turns/s].
    scatter : float
        Standard deviation of the turns' speeds [turns/s].
    start, stop : float
        When [s].
    turns : int
    """

    kind: Literal["cranking", "idle", "other"]
    speed: float
    uncertainty: float
    scatter: float
    start: float
    stop: float
    turns: int


def turn_speeds(grid: TurnGrid) -> TurnSpeeds:
    """Return the mean speed of each turn over the same teeth, medians over the teeth."""
    if len(grid.times) < 2:
        return TurnSpeeds(np.zeros(0), np.zeros(0))
    time, middle = np.diff(grid.times, axis=0), 0.5 * (grid.times[1:] + grid.times[:-1])
    seen = np.isfinite(time).any(axis=1)
    found = np.full((2, len(time)), np.nan)
    found[:, seen] = np.nanmedian(middle[seen], axis=1), 1.0 / np.nanmedian(time[seen], axis=1)
    return TurnSpeeds(*found)


def steady_speeds(grid: TurnGrid) -> tuple[SteadySpeed, ...]:
    """Return the stretches of even speed of four turns and more, in order of time."""
    turns = turn_speeds(grid)
    seen = np.isfinite(turns.speed)
    times, speed = turns.times[seen], turns.speed[seen]
    found, first = [], 0
    while first + LEAST_TURNS <= speed.size:
        last = _end_of_stretch(speed, first)
        if last - first >= LEAST_TURNS and _level(speed[first:last]):
            kept = _settled(speed[first:last])
            found.append(_stretch(times[first:last][kept], speed[first:last][kept]))
            first = last
        else:
            first += 1
    return tuple(found)


def _end_of_stretch(speed: Array, first: int) -> int:
    """Return where the speed has left the median of the stretch so far for good (two turns in a row), or the end."""
    last = first + LEAST_TURNS
    if np.ptp(speed[first:last]) > 2 * SAME * np.median(speed[first:last]):
        return first
    middle = float(np.median(speed[first:last]))
    out = np.abs(speed[first:] / middle - 1.0) > SAME
    gone = np.flatnonzero(out[:-1] & out[1:])
    return first + int(gone[0]) if gone.size else speed.size


def _settled(speed: Array) -> slice:
    """Return the stretch without the turns at its ends that still run up or down."""
    middle = float(np.median(speed))
    spread = 1.4826 * float(np.median(np.abs(speed - middle)))
    within = np.flatnonzero(np.abs(speed - middle) <= max(3.0 * spread, 0.01 * middle))
    kept = slice(int(within[0]), int(within[-1]) + 1)
    return kept if kept.stop - kept.start >= LEAST_TURNS else slice(0, speed.size)


def _level(speed: Array) -> bool:
    half = speed.size // 2
    return abs(float(speed[-half:].mean() / speed[:half].mean()) - 1.0) <= DRIFT


def _stretch(times: Array, speed: Array) -> SteadySpeed:
    mean, scatter = float(speed.mean()), float(speed.std(ddof=1))
    kind: Literal["cranking", "idle", "other"] = "other"
    if CRANKING[0] <= mean <= CRANKING[1]:
        kind = "cranking"
    elif IDLE[0] <= mean <= IDLE[1]:
        kind = "idle"
    away = speed - mean
    square = float(np.sum(away**2))
    # Neighbouring turns resemble each other: an autoregression of first order leaves fewer independent ones.
    alike = float(np.clip(np.sum(away[1:] * away[:-1]) / square, 0.0, 0.95)) if square > 0 else 0.0
    independent = max(speed.size * (1.0 - alike) / (1.0 + alike), 1.0)
    return SteadySpeed(
        kind, mean, scatter / float(np.sqrt(independent)), scatter, float(times[0]), float(times[-1]), speed.size
    )
