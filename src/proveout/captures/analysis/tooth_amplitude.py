"""How large the signal swings over each tooth, from the samples between its edges."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.captures.capture import Clock, Samples

__all__ = ["tooth_swings"]

Array = NDArray[np.float64]


def tooth_swings(samples: Samples, clock: Clock, edges: Array) -> Array:
    """Return the peak-to-peak swing about each edge.

    An edge of one direction passes once a tooth; its swing is the largest less the smallest sample from half way to the
    edge before to half way to the edge after it, but no farther than the nearer of the two, so that a gap does not add
    to it.

    Parameters
    ----------
    samples : (sample,) float
    clock : Clock
    edges : (edge,) float
        Times of the edges of one direction [s], increasing.

    Returns
    -------
    (edge,) float
        In the samples' unit; NaN at the first and the last edge and where no sample lies.
    """
    found = np.full(edges.size, np.nan)
    if edges.size < 3:
        return found
    reach = np.minimum(np.diff(edges)[1:], np.diff(edges)[:-1]) / 2.0
    first, last = (_index(clock, edges[1:-1] + sign * reach, samples.size) for sign in (-1.0, 1.0))
    usable = last > first
    bounds = np.column_stack([first, last])[usable].ravel()
    if bounds.size:
        # The last bound may be one past the end, which reduceat does not take: it then runs to the end by itself.
        cut = bounds[:-1] if bounds[-1] >= samples.size else bounds
        high, low = (reduce.reduceat(samples, cut)[::2] for reduce in (np.fmax, np.fmin))
        found[1:-1][usable] = high.astype(float) - low.astype(float)
    return found


def _index(clock: Clock, times: Array, size: int) -> NDArray[np.intp]:
    if clock.rate is not None:
        place = np.ceil((times - clock.start) * clock.rate)
    else:
        place = np.searchsorted(np.asarray(clock.times), times).astype(float)
    return np.clip(place, 0, size).astype(np.intp)
