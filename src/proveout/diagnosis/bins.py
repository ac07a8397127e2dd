"""Bins of a reading: where predicted values cluster, the edges lie between the clusters."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from proveout.network.laws import Array

__all__ = ["bin_chances", "bin_edges", "bin_edges_of_columns"]

Index = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]
TEMPER = 0.5  # exponent on the mass of a cluster: rare clusters get edges too
CELL = 3.0  # width of a cluster in standard deviations
SURE = 7.5  # standard deviations beyond which a normal variable never lies, to rounding


def bin_edges(centre: Array, spread: Array, weight: Array, count: int) -> Array:
    """Return up to `count` - 1 inner edges, ascending, of one reading; arguments as for `bin_edges_of_columns`."""
    return bin_edges_of_columns(centre[:, None], spread[:, None], weight[:, None], count)[0]


def bin_edges_of_columns(centre: Array, spread: Array, weight: Array, count: int) -> list[Array]:
    """Return up to `count` - 1 inner edges, ascending, of each of several readings.

    Values closer than some standard deviations form one cluster; edges are put midway between neighbouring clusters,
    the widest tempered share of mass first. A continuous smear (a severity sweep) is cut into clusters all along.

    Parameters
    ----------
    centre, spread, weight : (row, reading) float
        Predicted value, its standard deviation with the instrument's error, probability; rows without weight do not
        count.
    """
    seen = weight > 0
    c = np.where(seen, centre, np.max(centre, axis=0, where=seen, initial=-np.inf))
    order = np.argsort(c, axis=0)
    c, s, w = (np.take_along_axis(a, order, axis=0) for a in (c, spread, weight))
    cells, mass = _cells(c, s, np.asarray(seen.any(axis=0))), np.cumsum(w, axis=0)
    return [_chosen(c[:, k], mass[:, k], np.flatnonzero(cells[:, k]), count) for k in range(c.shape[1])]


def _cells(centre: Array, spread: Array, usable: Flags) -> Flags:
    """Return where a new cluster begins after each but the last of the ascending values, (row - 1, reading) bool."""
    gap = np.diff(np.where(usable, centre, 0.0), axis=0)
    steps = np.minimum(gap / (spread[:-1] + spread[1:]), CELL)
    place = np.cumsum(np.concatenate([np.zeros((1, centre.shape[1])), steps]), axis=0)
    return np.asarray(np.diff(np.floor(place / CELL), axis=0) > 0)


def _chosen(centre: Array, mass: Array, cut: Index, count: int) -> Array:
    """Return the edges at the cuts, the best ones where there are too many; `mass` is cumulated."""
    midway = 0.5 * (centre[cut] + centre[cut + 1])
    if len(cut) < count:
        return midway
    of_cells = np.diff(np.concatenate([[0.0], mass[cut], mass[-1:]]))
    tempered = np.cumsum(np.maximum(of_cells, 0.0) ** TEMPER)
    goals = tempered[-1] * np.arange(1, count) / count
    return midway[np.unique(np.searchsorted(tempered[:-1], goals).clip(0, len(cut) - 1))]


def bin_chances(centre: Array, spread: Array, edges: Array) -> Array:
    """Return P(bin | value), (..., edges + 1), of Gaussian predictions.

    Parameters
    ----------
    centre, spread : (...) float
    edges : (..., edges) float
        Ascending; infinite ones may fill up the end, their bins are empty.
    """
    away = (edges - centre[..., None]) / spread[..., None]
    below = np.where(away > 0, 1.0, 0.0)
    doubtful = np.abs(away) < SURE
    below[doubtful] = ndtr(away[doubtful])
    result = np.empty((*away.shape[:-1], away.shape[-1] + 1))
    result[..., 0] = below[..., 0] if away.shape[-1] else 1.0
    if away.shape[-1]:
        np.subtract(below[..., 1:], below[..., :-1], out=result[..., 1:-1])
        result[..., -1] = 1.0 - below[..., -1]
    return result
