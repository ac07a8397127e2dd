"""How far a signal goes between one edge and the next: the amplitude of every half cycle."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from proveout.captures.analysis.passes import on_cores, pieces, readable
from proveout.captures.capture import Samples

__all__ = ["half_cycles"]


@njit(nogil=True, cache=True)
def _extremes(x, positions, upper, first, last, values, places):  # type: ignore[no-untyped-def]
    """Fill the extreme of each half cycle in [first, last): the greatest after a rising edge, else the least."""
    for k in range(first, last):
        start, stop = int(np.ceil(positions[k])), int(np.ceil(positions[k + 1]))
        best, place = np.nan, start
        up = upper[k]
        for i in range(start, min(max(stop, start + 1), x.size)):
            value = x[i]
            if not (best >= value if up else best <= value) and value == value:
                best, place = value, i
        values[k], places[k] = best, place


def half_cycles(
    samples: Samples, positions: NDArray[np.float64], rising: NDArray[np.bool_], *, threads: int | None = None
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return the extreme value of each half cycle between two edges, and the sample at which it stands.

    Parameters
    ----------
    samples : (sample,) float32 or float64
    positions : (edge,) float64
        Edges in samples from the first one, increasing, as `crossings` gives them.
    rising : (edge,) bool

    Returns
    -------
    values : (edge - 1,) float64
        Greatest value after a rising edge, least after a falling one; NaN where there is no usable sample.
    places : (edge - 1,) int64
    """
    x = readable(samples)
    count = max(positions.size - 1, 0)
    values, places = np.empty(count), np.empty(count, dtype=np.int64)
    bounds = pieces(count, threads if threads or x.size > 1 << 20 else 1)
    on_cores(lambda bound: _extremes(x, positions, rising, bound[0], bound[1], values, places), bounds)
    return values, places
