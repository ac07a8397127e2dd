"""Extremes of the columns of a picture, from the fewest values that hold them exactly."""

from __future__ import annotations

from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

from proveout.captures.pyramid.build import FACTOR, range_extremes

__all__ = ["column_extremes"]


@numba.njit(cache=True, nogil=True)
def column_extremes(
    samples: NDArray[Any],
    low: NDArray[Any],
    high: NDArray[Any],
    starts: NDArray[np.int64],
    bounds: NDArray[np.int64],
) -> NDArray[np.float64]:
    """Return the exact extremes of the samples between neighbouring bounds.

    Parameters
    ----------
    samples : (sample,)
    low, high : (value,)
        All levels, one behind the other.
    starts : (level + 1,) int64
        Where each level begins, and where the last one ends.
    bounds : (column + 1,) int64
        Sample indices, increasing.

    Returns
    -------
    (column, 2) float64
        Least and most; NaN where a column has no usable sample.
    """
    columns = bounds.size - 1
    result = np.empty((columns, 2))
    for column in range(columns):
        least, most = np.inf, -np.inf
        begin, end = bounds[column], bounds[column + 1]
        level = -1
        # Climb: at each level take what does not fill whole blocks of the next one, at both ends.
        while begin < end:
            offset = 0 if level < 0 else starts[level]
            below, above = (samples, samples) if level < 0 else (low, high)
            top = level + 1 >= starts.size - 1
            first, last = -(-begin // FACTOR), end // FACTOR
            if top or first >= last:
                a, b = range_extremes(below, above, offset + begin, offset + end)
                least, most = (a if a < least else least), (b if b > most else most)
                break
            a, b = range_extremes(below, above, offset + begin, offset + first * FACTOR)
            least, most = (a if a < least else least), (b if b > most else most)
            a, b = range_extremes(below, above, offset + last * FACTOR, offset + end)
            least, most = (a if a < least else least), (b if b > most else most)
            begin, end, level = first, last, level + 1
        result[column, 0] = np.nan if least > most else least
        result[column, 1] = np.nan if least > most else most
    return result
