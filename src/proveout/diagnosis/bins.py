"""Bins of a reading: where predicted values cluster, the edges lie between the clusters."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from proveout.network.laws import Array

__all__ = ["bin_chances", "bin_edges"]

TEMPER = 0.5  # exponent on the mass of a cluster: rare clusters get edges too
CELL = 3.0  # width of a cluster in standard deviations


def bin_edges(centre: Array, spread: Array, weight: Array, count: int) -> Array:
    """Return up to `count` - 1 inner edges, ascending.

    Values closer than some standard deviations form one cluster; edges are put midway between neighbouring clusters,
    the widest tempered share of mass first. A continuous smear (a severity sweep) is cut into clusters all along.

    Parameters
    ----------
    centre, spread, weight : (row,) float
        Predicted value, its standard deviation with the instrument's error, probability.
    """
    if not len(centre) or weight.sum() <= 0:
        return np.empty(0)
    order = np.argsort(centre)
    c, s, w = centre[order], spread[order], weight[order]
    steps = np.diff(c) / (s[:-1] + s[1:])
    place = np.concatenate([[0.0], np.cumsum(np.minimum(steps, CELL))])
    cell = np.floor(place / CELL).astype(int)
    mass = np.bincount(cell, w)
    cut = np.flatnonzero(np.diff(cell))
    if not len(cut):
        return np.empty(0)
    midway = 0.5 * (c[cut] + c[cut + 1])
    if len(cut) < count:
        return midway
    tempered = np.cumsum(mass[np.unique(cell)] ** TEMPER)
    goals = tempered[-1] * np.arange(1, count) / count
    chosen = np.unique(np.searchsorted(tempered[:-1], goals).clip(0, len(cut) - 1))
    return midway[chosen]


def bin_chances(centre: Array, spread: Array, edges: Array) -> Array:
    """Return P(bin | row), (row, edges + 1), of Gaussian predictions."""
    below = ndtr((edges[None, :] - centre[:, None]) / spread[:, None])
    padded = np.concatenate([np.zeros((len(centre), 1)), below, np.ones((len(centre), 1))], axis=1)
    return np.diff(padded, axis=1)
