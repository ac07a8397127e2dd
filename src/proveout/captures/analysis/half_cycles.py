"""How far a signal goes between one edge and the next: the amplitude of every half cycle."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.passes import on_cores, pieces, readable
from proveout.captures.capture import Samples

__all__ = ["half_cycles"]


def half_cycles(
    samples: Samples, positions: NDArray[np.float64], rising: NDArray[np.bool_], *, threads: int | None = None
) -> NDArray[np.float64]:
    """Return the extreme value of each half cycle between two edges.

    Parameters
    ----------
    samples : (sample,) float32 or float64
    positions : (edge,) float64
        Edges in samples from the first one, increasing, as `crossings` gives them.
    rising : (edge,) bool

    Returns
    -------
    (edge - 1,) float64
        Greatest value after a rising edge, least after a falling one; NaN where there is no usable sample.
    """
    x = readable(samples)
    if positions.size < 2:
        return np.empty(0)
    bounds = np.minimum(np.ceil(positions).astype(np.int64), x.size - 1)

    def extremes(piece: tuple[int, int]) -> NDArray[np.float64]:
        first, last = piece
        start, stop = int(bounds[first]), int(bounds[last]) if last < bounds.size else x.size
        part, cuts = x[start : max(stop, start + 1)], bounds[first:last] - start
        tops, bottoms = np.fmax.reduceat(part, cuts), np.fmin.reduceat(part, cuts)
        return np.where(rising[first:last], tops, bottoms).astype(np.float64)

    count = positions.size - 1
    cuts = np.searchsorted(bounds[:count], [stop for _, stop in pieces(x.size, threads)])
    cuts = np.unique(np.concatenate([[0], cuts, [count]]))
    return np.concatenate(on_cores(extremes, list(zip(cuts[:-1].tolist(), cuts[1:].tolist(), strict=True))))
