"""How many edges make a turn: proposals from intervals alone, before any wheel is named."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["proposed_periods", "repeat_mismatch", "running_mean", "symmetric_ratio"]

Array = NDArray[np.float64]

_CAP = 0.25  # a squared difference of logs counts no more than this: half of a gap of one tooth, which is log(2)^2
_SHORTEST_TREND = 9  # intervals over which a change of speed is at least averaged
_FAR = 120.0  # a period that repeats so much worse than the best is left out [nat]
_GAP = 0.3  # a symmetric ratio above exp(0.3) may be a gap


def symmetric_ratio(log_intervals: Array) -> Array:
    """Return log of T_k / sqrt(T_(k-1) T_(k+1)) of each inner interval: zero under any even change of speed.

    Parameters
    ----------
    log_intervals : (interval,) float64
        Logarithms of the times between edges.

    Returns
    -------
    (interval - 2,) float64
    """
    return log_intervals[1:-1] - (log_intervals[:-2] + log_intervals[2:]) / 2


def repeat_mismatch(log_intervals: Array, period: int) -> Array:
    """Return the squared difference of each interval's log to the one a period later, slow changes of speed removed.

    Differences are capped, so that a lost edge spoils a turn and not the whole.

    Parameters
    ----------
    log_intervals : (interval,) float64
    period : int
        Intervals in a turn, at most half of all.

    Returns
    -------
    (interval - period,) float64
    """
    change = log_intervals[period:] - log_intervals[:-period]
    return np.minimum((change - running_mean(change, max(period, 5))) ** 2, _CAP)


def running_mean(values: Array, width: int) -> Array:
    """Return the mean of `width` values around each, held at both ends; the mean of all where there are fewer."""
    if values.size <= width:
        return np.full(values.size, np.mean(values)) if values.size else values
    total = np.concatenate([[0.0], np.cumsum(values)])
    inner = (total[width:] - total[:-width]) / width
    if width % 2 == 0:
        inner = (inner[1:] + inner[:-1]) / 2
    before = (values.size - inner.size) // 2
    return np.pad(inner, (before, values.size - inner.size - before), mode="edge")


def proposed_periods(log_intervals: Array, longest: int = 150, most: int = 5) -> list[int]:
    """Return the numbers of edges a turn that are worth a closer look, likeliest first.

    Two sources: how well intervals repeat after so many edges, with a price for each interval of the period (Schwarz
    1978), and the commonest counts of edges between large symmetric ratios, over one, two and three of them.
    """
    size = log_intervals.size
    periods = range(1, min(longest, size // 2) + 1)
    mean = _mean_mismatch(log_intervals, len(periods), _CAP, _SHORTEST_TREND)
    score = {p: -0.5 * size * np.log(mean[p - 1] + 1e-7) - 0.5 * p * np.log(size) for p in periods}
    ranked = sorted(score, key=lambda period: -score[period])[:most]
    near = [period for period in ranked if score[period] > score[ranked[0]] - _FAR]
    return list(dict.fromkeys([*near, 1, *_gap_counts(log_intervals, min(longest, size // 2))]))


@njit(cache=True, nogil=True)
def _mean_mismatch(logs, longest, cap, shortest):  # type: ignore[no-untyped-def]  # compiled: types are inferred
    """Return the mean of `repeat_mismatch` for every period up to the longest, about the mean of the window around."""
    mean = np.zeros(longest)
    for period in range(1, longest + 1):
        count = logs.size - period
        width = min(max(period, shortest), count)
        total, first, last = 0.0, 0, 0
        for k in range(count):
            begin = min(max(k - width // 2, 0), count - width)
            while last < begin + width:
                total += logs[last + period] - logs[last]
                last += 1
            while first < begin:
                total -= logs[first + period] - logs[first]
                first += 1
            mean[period - 1] += min((logs[k + period] - logs[k] - total / width) ** 2, cap)
        mean[period - 1] /= count
    return mean


def _gap_counts(log_intervals: Array, longest: int) -> list[int]:
    gaps = np.flatnonzero(symmetric_ratio(log_intervals) > _GAP)
    found = []
    for over in (1, 2, 3):
        counts = Counter((gaps[over:] - gaps[:-over]).tolist()).most_common(1)
        found += [count for count, seen in counts if seen > 1 and 1 < count <= longest]
    return found
