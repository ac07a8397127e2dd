"""Numbers of any type as floating point, single precision where it says the same."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.captures.capture import Samples

__all__ = ["narrow", "stamp_rounding"]


def narrow(array: NDArray[Any]) -> Samples:
    """Return real numbers as float32 where that loses nothing, as float64 otherwise."""
    if array.dtype.kind == "f" and array.dtype.itemsize == 4 and array.dtype.isnative:
        return np.ascontiguousarray(array)
    if array.dtype.kind in "biu" and array.dtype.itemsize <= 2:
        return array.astype(np.float32)
    wide: NDArray[np.float64] = np.ascontiguousarray(array, dtype=np.float64)
    with np.errstate(over="ignore", invalid="ignore"):
        single = wide.astype(np.float32)
    return single if np.array_equal(single, wide, equal_nan=True) else wide


def stamp_rounding(array: NDArray[Any]) -> float:
    """Return the step of the numbers in an array, 0 when they are as fine as double precision."""
    if array.dtype.kind != "f" or array.dtype.itemsize > 4 or not array.size:
        return 0.0
    largest = float(np.fmax.reduce(np.abs(array).astype(np.float64)))
    return float(np.finfo(array.dtype).eps) * largest if np.isfinite(largest) else 0.0
