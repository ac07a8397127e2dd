"""Newton's method for a batch of nonlinear networks, each branch held back where its law bends too sharply.

Each branch is replaced by its tangent at an effort difference of its own; the solution of that linear network says
where to put the tangents next. A branch may decline to go all the way (`Law.approach`), as circuit simulators do with
junctions (Nagel 1975, section on limiting): a tangent taken high up an exponential is worthless. Variants that have not
settled after a few steps are left to the slower method that is sure to arrive.
"""

from __future__ import annotations

import numpy as np

from proveout.network.descent import descend
from proveout.network.laws import Array
from proveout.network.netlist import Index
from proveout.network.nonlinear import Nonlinear

__all__ = ["newton"]

MOST_STEPS = 30
SPARSE = 0.75  # share of unsettled variants below which the settled ones are dropped from the arrays


def newton(network: Nonlinear, start: Array, tolerance: float) -> Array:
    """Return the efforts (node, batch) of the solution.

    Parameters
    ----------
    start : (node, batch) float
        Efforts to start from, ground last and zero.
    tolerance : float
        Largest difference of a branch from its last tangent, relative to the largest effort plus one unit.

    Raises
    ------
    SingularError
        If nothing holds a node.
    DivergedError
        If the steps do not settle; the message names the node and the elements at it.
    """
    result = np.empty_like(start)
    active: Index = np.arange(start.shape[1])
    drops = network.drops(start)
    for _ in range(MOST_STEPS):
        goal = network.companion(network.tangents(drops))
        ahead = network.drops(goal)
        far = network.distance(drops, ahead) > tolerance * (1.0 + network.size(goal))
        unsettled = np.flatnonzero(far)
        if len(unsettled) < SPARSE * len(far) or not len(unsettled):
            result[:, active[~far]] = goal[:, ~far]
            if not len(unsettled):
                return result
            network, active, goal = network.take(unsettled), active[unsettled], goal[:, unsettled]
            drops, ahead = [u[..., unsettled] for u in drops], [u[..., unsettled] for u in ahead]
        drops = [
            group.law.approach(old, new, p)
            for group, old, new, p in zip(network.groups, drops, ahead, network.parameters, strict=True)
        ]
    result[:, active] = descend(network, goal, tolerance)
    return result
