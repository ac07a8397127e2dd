"""Least, greatest and mean value of a whole record in one pass over it, on every core."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit

from proveout.captures.analysis.passes import on_cores, pieces, readable
from proveout.captures.capture import Samples

__all__ = ["Extent", "extent"]

_BLOCK = 4096


@dataclass(frozen=True)
class Extent:
    """What one pass over a record says.

    Attributes
    ----------
    least, greatest, mean : float
        Of the usable samples, in their unit; NaN when there is none.
    usable : int
        Samples that are finite numbers.
    missing : int
        Samples that are not.
    """

    least: float
    greatest: float
    mean: float
    usable: int
    missing: int


@njit(nogil=True, cache=True)
def _with_holes(x):  # type: ignore[no-untyped-def]
    """Return least, greatest, sum and count of the finite samples."""
    least, greatest, total, count = np.inf, -np.inf, 0.0, 0
    for value in x:
        if abs(value) < np.inf:
            least, greatest = min(least, value), max(greatest, value)
            total += value
            count += 1
    return least, greatest, total, count


def _pass(x: Samples) -> tuple[float, float, float, int]:
    """Return the same of a piece: by vector instructions where all its samples are finite."""
    if x.size == 0:
        return math.inf, -math.inf, 0.0, 0
    least, greatest = float(x.min()), float(x.max())
    if not (math.isfinite(least) and math.isfinite(greatest)):
        return _with_holes(x)
    even = x.size - x.size % _BLOCK
    sums = x[:even].reshape(-1, _BLOCK).sum(axis=1, dtype=x.dtype)
    return least, greatest, float(sums.sum(dtype=np.float64)) + float(x[even:].sum(dtype=np.float64)), x.size


def extent(samples: Samples, *, threads: int | None = None) -> Extent:
    """Return least, greatest and mean value of (sample,) float32 or float64; NaN and infinite values are left out."""
    x = readable(samples)
    parts = on_cores(lambda bound: _pass(x[slice(*bound)]), pieces(x.size, threads))
    count = sum(part[3] for part in parts)
    if count == 0:
        return Extent(math.nan, math.nan, math.nan, 0, x.size)
    least, greatest = min(part[0] for part in parts), max(part[1] for part in parts)
    return Extent(float(least), float(greatest), sum(part[2] for part in parts) / count, count, x.size - count)
