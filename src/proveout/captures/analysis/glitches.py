"""Short jumps of an analogue level that come back: a contact that opens, a worn track, interference.

A running median keeps steps and ramps and passes over whatever is shorter than half its window. What then stands out of
the median by far more than the record usually does, there and in its noise, is a glitch.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

from proveout.captures.analysis.crossings import times_of
from proveout.captures.capture import Clock, Samples

__all__ = ["Glitch", "find_glitches"]

Floats = NDArray[np.float64]

_MOST_BLOCKS = 1 << 16
_LONGEST = 0.1
"""Longest glitch looked for [s]; what lasts longer is taken for a change of the level."""

_WIDEST = 801
_OUTSTANDING = 6.0
"""Times the usual distance from the median (median absolute deviation) from which a jump stands out."""

_NOISE_WIDTHS = 8.0
_COARSE = 4.0
"""Times the bar from which a jump is left out of the running median, which it would pull at."""


@dataclass(frozen=True)
class Glitch:
    """A jump of a level and back: from when to when [s], how far it went, and the level about it [unit of samples]."""

    start: float
    end: float
    extreme: float
    level: float


def find_glitches(samples: Samples, clock: Clock, noise: float, resolution: float) -> tuple[Glitch, ...]:
    """Return the glitches of an analogue level in order of time.

    Parameters
    ----------
    samples : (sample,) float32 or float64
    clock : Clock
    noise, resolution : float
        Standard deviation from sample to sample and smallest step [unit of the samples].
    """
    size = max(-(-samples.size // _MOST_BLOCKS), 1)
    count = samples.size // size
    if count < 16:
        return ()
    blocks = samples[: count * size].reshape(count, size)
    least, greatest = np.fmin.reduce(blocks, axis=1), np.fmax.reduce(blocks, axis=1)
    width = _window(clock, samples.size, size)
    middle, bar = (least.astype(np.float64) + greatest) / 2, max(_NOISE_WIDTHS * noise, 3 * resolution)
    level = _running_median(middle, width)
    coarse = _outstanding(least, greatest, level, _COARSE * bar)
    level = _running_median(np.where(coarse, np.nan, middle), width)
    out = _outstanding(least, greatest, level, bar)
    return tuple(_refined(samples, clock, size, np.flatnonzero(out), level))


def _outstanding(least: Floats, greatest: Floats, level: Floats, bar: float) -> NDArray[np.bool_]:
    below, above = level - least, greatest - level
    return (below > max(bar, _usual(below))) | (above > max(bar, _usual(above)))


def _window(clock: Clock, samples: int, size: int) -> int:
    """Return the odd number of blocks in twice the longest glitch."""
    span = float(clock.at(samples - 1) - clock.at(0))
    blocks = 2 * _LONGEST / (span / (samples - 1) * size) if span > 0 else 1.0
    return int(np.clip(blocks, 5, min(_WIDEST, samples // size // 2))) | 1


def _running_median(values: Floats, width: int) -> Floats:
    known = np.isfinite(values)
    if not known.all():
        at = np.arange(values.size)
        values = np.interp(at, at[known], values[known]) if known.any() else np.zeros(values.size)
    return median_filter(values, width, mode="nearest")


def _usual(away: Floats) -> float:
    away = away[np.isfinite(away)]
    return _OUTSTANDING * float(np.median(np.abs(away))) / 0.6745 if away.size else 0.0


def _refined(samples: Samples, clock: Clock, size: int, blocks: NDArray[np.intp], level: Floats) -> Iterator[Glitch]:
    """Yield one glitch for each run of blocks, timed by its first and last sample more than half way out."""
    for run in np.split(blocks, np.flatnonzero(np.diff(blocks) > 1) + 1):
        if run.size == 0:
            continue
        first, last = int(run[0]) * size, (int(run[-1]) + 1) * size
        part, about = samples[first:last].astype(float), float(np.median(level[run]))
        away = part - about
        peak = int(np.nanargmax(np.abs(away)))
        beyond = np.flatnonzero(away * np.sign(away[peak]) > abs(away[peak]) / 2)
        ends = times_of(np.array([first + beyond[0], first + beyond[-1]], dtype=float), clock)
        yield Glitch(float(ends[0]), float(ends[1]), float(part[peak]), about)
