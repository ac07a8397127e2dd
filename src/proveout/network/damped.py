"""Newton's method for networks with directed branches: all tangents at one set of efforts, steps held back.

A valve that is shut holds a node by a leak alone, and a tangent then sends it anywhere: no node moves further than a
few usual efforts at once. Where the movement does not die down the steps are shortened, for two tangents that each
point to the other's side would go on so for ever. What has not settled is left to the method that is sure to arrive.
"""

from __future__ import annotations

import numpy as np

from proveout.network.laws import Array
from proveout.network.netlist import Index
from proveout.network.nonlinear import Nonlinear
from proveout.network.relax import nearer, relax

__all__ = ["damped"]

MOST_STEPS = 25
SETTLING = 0.7  # share of the last movement below which steps may be longer again
LEAST = 0.1


def damped(network: Nonlinear, start: Array, tolerance: float) -> Array:
    """Return the efforts (node, batch) of the solution; arguments and errors as for `newton`."""
    result = np.empty_like(start)
    active: Index = np.arange(start.shape[1])
    effort, share, last = start, np.ones(start.shape[1]), np.full(start.shape[1], np.inf)
    for _ in range(MOST_STEPS):
        drops = network.drops(effort)
        goal = network.companion(network.tangents(drops))
        moved = network.distance(drops, network.drops(goal))
        far = moved > tolerance * (1.0 + network.size(goal))
        result[:, active[~far]] = goal[:, ~far]
        if not far.any():
            return result
        share = np.where(moved < SETTLING * last, np.minimum(2.0 * share, 1.0), np.maximum(0.5 * share, LEAST))
        effort = nearer(network, effort, goal, share)
        if not far.all():
            left = np.flatnonzero(far)
            network, active = network.take(left), active[left]
            effort, share, moved = effort[:, left], share[left], moved[left]
        last = moved
    result[:, active] = relax(network, effort, tolerance)
    return result
