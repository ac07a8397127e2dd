"""From a maker's accuracy limits to a standard uncertainty: arrays in, arrays out."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["limit_of_error", "range_index", "rectangular", "standard_error"]

_SLACK = 1e-9


def range_index(value: ArrayLike, full_scale: ArrayLike) -> NDArray[np.intp]:
    """Choose the range of an auto-ranging meter: the lowest one that holds the value.

    Parameters
    ----------
    value : (...) float
        In the unit of the ranges; the sign does not matter.
    full_scale : (range,) float
        Ascending.

    Returns
    -------
    (...) int
        Above the last full scale, and for NaN, the last range.
    """
    tops = np.asarray(full_scale, dtype=float)
    found = np.searchsorted(tops * (1.0 + _SLACK), np.abs(np.asarray(value, dtype=float)))
    chosen: NDArray[np.intp] = np.minimum(found, tops.size - 1)
    return chosen


def limit_of_error(
    value: ArrayLike, fraction: ArrayLike, counts: ArrayLike, resolution: ArrayLike
) -> NDArray[np.float64]:
    """Half-width of the accuracy limits +-(fraction of reading + counts), in the unit of the value.

    `value`, `fraction`, `counts` (in last digits) and `resolution` (the value of one last digit) broadcast together.
    """
    half_width: NDArray[np.float64] = np.abs(value) * np.asarray(fraction) + np.asarray(counts) * np.asarray(resolution)
    return half_width


def rectangular(half_width: ArrayLike) -> NDArray[np.float64]:
    """Standard uncertainty of a quantity that lies anywhere within +-half_width.

    u = a / sqrt(3): JCGM 100:2008 (GUM), 4.3.7, equation 7.
    """
    uncertainty: NDArray[np.float64] = np.asarray(half_width, dtype=float) / np.sqrt(3.0)
    return uncertainty


def standard_error(
    value: ArrayLike, fraction: ArrayLike, counts: ArrayLike, resolution: ArrayLike, step: ArrayLike
) -> NDArray[np.float64]:
    """Standard uncertainty of a shown value: accuracy limits and the display's step, in quadrature.

    Parameters
    ----------
    value, fraction, counts, resolution : (...) float
        As in `limit_of_error`.
    step : (...) float
        What one last digit of the noted value is worth; its half is the rectangular half-width of rounding
        (JCGM 100:2008, F.2.2.1: u = 0.29 step).
    """
    limits = rectangular(limit_of_error(value, fraction, counts, resolution))
    rounding = rectangular(np.asarray(step, dtype=float) / 2.0)
    return np.hypot(limits, rounding)
