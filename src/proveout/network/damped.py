"""Newton's method for networks of gases and liquids: all tangents at one set of efforts, steps held back by node.

A valve that is shut holds a node by a leak alone, and a tangent then sends it anywhere; from far away a tangent knows
nothing of the bend near the valve's seat. So a node moves no further than its reach, which shrinks each time that it
has to turn back and grows again while it does not: two tangents that each point to the other's side close in on what
lies between them. What has not settled is left to the method that is sure to arrive.
"""

from __future__ import annotations

import numpy as np

from proveout.network.laws import Array
from proveout.network.netlist import Index
from proveout.network.nonlinear import Nonlinear
from proveout.network.relax import held_above, relax

__all__ = ["damped"]

MOST_STEPS = 60
REACH = 3.0  # usual efforts that a node moves in one step at first and at most
BACK, ON = 0.4, 1.6  # change of the reach where a node turns back, and where it goes on


def damped(network: Nonlinear, start: Array, tolerance: float) -> Array:
    """Return the efforts (node, batch) of the solution; arguments and errors as for `newton`."""
    result = np.empty_like(start)
    active: Index = np.arange(start.shape[1])
    usual = np.ones(len(start)) if network.scales is None else network.scales
    most = np.repeat(REACH * usual[:, None], start.shape[1], axis=1)
    effort, reach, last = start, most, np.zeros_like(start)
    for _ in range(MOST_STEPS):
        drops = network.drops(effort)
        goal = network.companion(network.tangents(drops))
        far = network.distance(drops, network.drops(goal)) > tolerance * (1.0 + network.size(goal))
        result[:, active[~far]] = goal[:, ~far]
        if not far.any():
            return result
        if not far.all():
            left = np.flatnonzero(far)
            network, active = network.take(left), active[left]
            effort, goal, reach, last = effort[:, left], goal[:, left], reach[:, left], last[:, left]
        wanted = goal - effort
        back = wanted * last < 0.0
        reach = np.where(
            back, np.minimum(BACK * np.abs(last), reach), np.minimum(ON * reach, most[:, : reach.shape[1]])
        )
        last = held_above(network, effort, np.clip(wanted, -reach, reach))
        effort = effort + last
    result[:, active] = relax(network, effort, tolerance)
    return result
