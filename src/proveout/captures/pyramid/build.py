"""Kernels of the min/max pyramid: each level holds the extremes of blocks of the level below.

The first level is made in one pass over the samples, with no copy of them; the others are small.
"""

from __future__ import annotations

from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

__all__ = ["FACTOR", "first_level", "level_sizes", "next_level", "range_extremes"]

FACTOR = 16
"""How many values of one level are one of the next."""


def level_sizes(count: int) -> list[int]:
    """Return the sizes of the levels above `count` samples, down to one value."""
    sizes = []
    while count > 1:
        count = -(-count // FACTOR)
        sizes.append(count)
    return sizes


@numba.njit(cache=True, nogil=True)
def first_level(samples: NDArray[Any], low: NDArray[Any], high: NDArray[Any]) -> None:
    """Fill the extremes of blocks of `FACTOR` samples; a block of NaN only gives NaN.

    `samples` : (sample,), `low`, `high` : (block,), all of one type.
    """
    whole = samples.size // FACTOR
    for block in range(whole):
        begin = block * FACTOR
        least, most = np.inf, -np.inf
        for k in range(FACTOR):
            value = samples[begin + k]
            # NaN loses both comparisons, so it is passed over.
            least = value if value < least else least
            most = value if value > most else most
        unknown = least > most
        low[block] = np.nan if unknown else least
        high[block] = np.nan if unknown else most
    if whole < low.size:
        least, most = range_extremes(samples, samples, whole * FACTOR, samples.size)
        low[whole] = least
        high[whole] = most


@numba.njit(cache=True, nogil=True)
def next_level(low: NDArray[Any], high: NDArray[Any], to_low: NDArray[Any], to_high: NDArray[Any]) -> None:
    """Fill a level from the one below it."""
    for block in range(to_low.size):
        least, most = range_extremes(low, high, block * FACTOR, min(low.size, (block + 1) * FACTOR))
        to_low[block] = least
        to_high[block] = most


@numba.njit(cache=True, nogil=True)
def range_extremes(low: NDArray[Any], high: NDArray[Any], begin: int, end: int) -> tuple[float, float]:
    """Return the extremes of a stretch of one level, NaN where nothing is known."""
    least, most = np.inf, -np.inf
    for k in range(begin, end):
        if low[k] < least:
            least = low[k]
        if high[k] > most:
            most = high[k]
    if least > most:
        return np.nan, np.nan
    return least, most
