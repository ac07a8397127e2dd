"""Edges of ringing and crosstalk taken out: a half cycle far smaller than those about it is none."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["without_weak_half_cycles"]

_NEIGHBOURS = 31


def without_weak_half_cycles(
    rising: NDArray[np.bool_], peaks: NDArray[np.float64], level: float, share: float = 0.2
) -> NDArray[np.bool_]:
    """Return which edges to keep so that no half cycle stays below `share` of the amplitude about it.

    The amplitude is the running median of 31 half cycles, so it follows the growth with speed. Of an odd number of
    edges about weak half cycles the last one stays, so that rising and falling edges still take turns.

    Parameters
    ----------
    rising : (edge,) bool
    peaks : (edge - 1,) float64
        Extreme of each half cycle, as `half_cycles` gives them.
    level : float
        The level that the edges were timed at [unit of the samples].
    share : float
        From 0 to 1.

    Returns
    -------
    keep : (edge,) bool
    """
    keep = np.ones(rising.size, dtype=np.bool_)
    if peaks.size < _NEIGHBOURS:
        return keep
    size = np.abs(peaks - level)
    padded = np.pad(size, _NEIGHBOURS // 2, mode="reflect")
    about = np.median(np.lib.stride_tricks.sliding_window_view(padded, _NEIGHBOURS), axis=1)
    weak = size < share * about
    starts = np.flatnonzero(weak & ~np.concatenate([[False], weak[:-1]]))
    stops = np.flatnonzero(weak & ~np.concatenate([weak[1:], [False]])) + 1
    for start, stop in zip(starts, stops, strict=True):
        keep[start : stop + 1] = False
        keep[stop] = (stop - start) % 2 == 0
    return keep
