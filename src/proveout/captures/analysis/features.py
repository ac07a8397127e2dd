"""Figures of a signal from which its kind is judged: offset, regularity, pulse widths, growth with speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.levels import Levels

__all__ = ["Features", "features"]

_MOST_EDGES = 200_000
_LAGS, _LONGEST = 80, 4000
"""Periods over which a pattern may repeat, and how many are compared."""

_FEWEST_PERIODS = 14
_FEWEST_WIDE = 4.0
"""Samples in a pulse below which its length is too coarse to compare."""

_LEAST_SPEED_SPREAD = 0.03
"""Least standard deviation of log speed from which growth with speed can be told."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Features:
    """What is known of a signal beyond its levels; NaN where there is too little to tell.

    Attributes
    ----------
    edges : int
        Edges found.
    offset : float
        Mean over the swing: 0 for a coil (its flux comes back), 0.3 to 0.7 for a switch between zero and a level [1].
    resting : float
        Share of samples at one of the two levels [1].
    irregularity : float
        Median size of the change of the logarithm from one period to the next, of the steadier edge [1].
    samples_a_period : float
        Samples in the shortest usual period (fifth percentile).
    growth, growth_error : float
        Slope of log amplitude over log speed, and its standard error: 1 for a coil, 0 for a switch [1].
    width_growth, width_growth_error : float
        Slope of the log length of the shorter pulse, within its cluster, over the log period, and its standard error: 1
        where the pulse is part of the tooth, 0 where it has a length of its own [1].
    width_spread : float
        Median distance of the log lengths from those of their cluster [1].
    width : float
        Median length of the shorter pulse [s].
    level_ratio : float
        High level over low level where both are positive [1].
    """

    edges: int
    offset: float
    resting: float
    irregularity: float
    samples_a_period: float
    growth: float
    growth_error: float
    width_growth: float
    width_growth_error: float
    width_spread: float
    width: float
    level_ratio: float


def features(levels: Levels, edges: Edges, peaks: Floats, interval: float) -> Features:
    """Return the figures of a signal.

    Parameters
    ----------
    levels : Levels
    edges : Edges
    peaks : (edge - 1,) float64
        Extreme of each half cycle [unit of the samples].
    interval : float
        Time from sample to sample [s], 0 for a list of value changes.
    """
    count = min(edges.times.size, _MOST_EDGES)
    times, rising = edges.times[:count], edges.rising[:count]
    growth, growth_error = _growth(times, peaks[: max(count - 1, 0)])
    widths, at_periods = _pulses(times, rising)
    if widths.size and np.median(widths) < _FEWEST_WIDE * interval:
        widths, at_periods = widths[:0], at_periods[:0]
    width_growth, width_growth_error = _width_growth(widths, at_periods)
    periods = _periods(times)
    shortest = float(np.percentile(periods, 5)) if periods.size > _FEWEST_PERIODS else np.nan
    return Features(
        edges=edges.times.size,
        offset=levels.extent.mean / levels.swing if levels.swing > 0 else np.nan,
        resting=levels.resting,
        irregularity=_irregularity(times),
        samples_a_period=shortest / interval if interval > 0 else np.inf if periods.size > _FEWEST_PERIODS else np.nan,
        growth=growth,
        growth_error=growth_error,
        width_growth=width_growth,
        width_growth_error=width_growth_error,
        width_spread=float(np.median(np.abs(_within_clusters(np.log(widths))))) if widths.size >= 8 else np.nan,
        width=float(np.median(widths)) if widths.size else np.nan,
        level_ratio=levels.high / levels.low if levels.low > 0 else np.nan,
    )


def _periods(times: Floats) -> Floats:
    """Return the time from each edge to the next of its kind [s]."""
    return times[2:] - times[:-2]


def _irregularity(times: Floats) -> float:
    """Return the least median change of the log period over all lags up to a turn of the usual wheels."""
    least = np.nan
    for first in (0, 1):
        periods = np.diff(times[first::2])
        logs = np.log(np.maximum(periods[:_LONGEST], 1e-12))
        for lag in range(1, min(_LAGS, logs.size // 4) + 1):
            least = np.fmin(least, np.median(np.abs(logs[lag:] - logs[:-lag])))
    return float(least)


def _slope(speed: Floats, size: Floats) -> tuple[float, float]:
    """Return the slope of one logarithm over another with its standard error; NaN where the speed hardly changes."""
    good = np.isfinite(speed) & np.isfinite(size)
    speed, size = speed[good], size[good]
    spread = float(np.var(speed)) if speed.size >= 12 else 0.0
    if spread < _LEAST_SPEED_SPREAD**2:
        return np.nan, np.nan
    slope = float(np.cov(speed, size, bias=True)[0, 1]) / spread
    rest = size - size.mean() - slope * (speed - speed.mean())
    return slope, float(np.sqrt(np.var(rest) / spread / speed.size))


def _local(values: Floats) -> Floats:
    """Return the running median over five, which passes over a gap."""
    if values.size < 5:
        return np.full(values.size, np.nan)
    middle = np.median(np.lib.stride_tricks.sliding_window_view(values, 5), axis=1)
    return np.concatenate([[np.nan, np.nan], middle, [np.nan, np.nan]])


def _growth(times: Floats, peaks: Floats) -> tuple[float, float]:
    """Return the slope of log peak-to-peak over log speed."""
    swings = np.abs(np.diff(peaks))[: max(times.size - 2, 0)]
    periods = _local(_periods(times)[: swings.size])
    with np.errstate(divide="ignore"):
        return _slope(-np.log(periods), np.where(swings > 0, np.log(swings), np.nan))


def _pulses(times: Floats, rising: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Return lengths of the pulses of the briefer kind [s], and the local period at each [s]."""
    spans = np.diff(times)
    if spans.size < 8:
        return np.empty(0), np.empty(0)
    up = rising[:-1]
    brief = up if np.median(spans[up]) <= np.median(spans[~up]) else ~up
    at = np.flatnonzero(brief[:-1])
    widths, whole = spans[at], spans[at] + spans[at + 1]
    good = (widths > 0) & (whole > 0)
    return widths[good], _local(whole[good])


def _within_clusters(logs: Floats) -> Floats:
    """Return each logarithm less the median of its cluster, clusters being parted by more than a quarter."""
    order = np.argsort(logs)
    cuts = np.flatnonzero(np.diff(logs[order]) > 0.25) + 1
    rest = np.empty(logs.size)
    for part in np.split(order, cuts):
        rest[part] = logs[part] - np.median(logs[part])
    return rest


def _width_growth(widths: Floats, periods: Floats) -> tuple[float, float]:
    """Return the slope of the log pulse width, within its cluster, over the log period."""
    return _slope(np.log(periods), _within_clusters(np.log(widths))) if widths.size else (np.nan, np.nan)
