"""The slow and sure method for networks with directed branches: steps in a made-up time until nothing moves.

Such a network has no content to descend, but its residual is an M-function (Rheinboldt 1970): with a store at every
node the efforts run to the one solution, whatever they begin with. Each step is a backward Euler step of that run,
taken with the tangents; the stores shrink step by step, so that the last steps are Newton's own (pseudo-transient
continuation, Kelley and Keyes 1998). What does not settle then begins again with larger stores.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from proveout.errors import DivergedError
from proveout.network.eliminate import Cells, Row
from proveout.network.laws import Array
from proveout.network.netlist import Index
from proveout.network.nonlinear import Nonlinear

__all__ = ["held_above", "relax"]

FARTHEST = 3.0  # usual efforts that a node moves in one step at most
TOWARDS = 0.7  # share of the way to the least effort that a node goes in one step at most
FIRST = (0.3, 3.0, 30.0, 300.0)  # share of a node's own conductance that its store has at first, try after try
SHRINK = 0.4
LAST = 1e-6  # share from which the steps are Newton's own
MORE_STEPS = 8  # of those
GONE = 1e-5  # share below which the store no longer holds anything back


def held_above(network: Nonlinear, effort: Array, step: Array) -> Array:
    """Return the step (node, batch), but towards the least effort that can be a part of the way at most."""
    for group, parameters in zip(network.groups, network.parameters, strict=True):
        least = getattr(group.law, "least", None)
        if least is not None:
            bound = np.asarray(least(parameters)).max(axis=0)
            ends = np.union1d(group.first, group.second)
            step[ends] = np.maximum(step[ends], TOWARDS * np.minimum(bound - effort[ends], 0.0))
    return step


def _nearer(network: Nonlinear, effort: Array, goal: Array) -> Array:
    """Return the efforts `goal`, but none moved from `effort` by more than it may."""
    far = FARTHEST if network.scales is None else FARTHEST * network.scales[:, None]
    return effort + held_above(network, effort, np.clip(goal - effort, -far, far))


def relax(network: Nonlinear, start: Array, tolerance: float) -> Array:
    """Return the efforts (node, batch) of the solution; arguments and errors as for `newton`."""
    result = np.empty_like(start)
    active: Index = np.arange(start.shape[1])
    effort = start
    for share in _shares():
        goal = _nearer(network, effort, _step(network, effort, share))
        moved = network.distance(network.drops(effort), network.drops(goal))
        far = (moved > tolerance * (1.0 + network.size(goal))) | (share > GONE)
        result[:, active[~far]] = goal[:, ~far]
        if not far.any():
            return result
        left = np.flatnonzero(far)
        network, active = network.take(left), active[left]
        step, effort = (goal - effort)[:, left], goal[:, left]
    node = int(np.abs(step[:-1]).max(axis=1).argmax())
    raise DivergedError(
        f"the solution does not settle at node '{network.plan.names[node]}' however slowly it is approached; "
        f"check the values of the elements at it"
    )


def _shares() -> Iterator[float]:
    """Yield the share of each step: from each first one down to nothing, then a few steps without."""
    for share in FIRST:
        while share > LAST:
            yield share
            share *= SHRINK
        yield from (0.0 for _ in range(MORE_STEPS))


def _step(network: Nonlinear, effort: Array, share: float) -> Array:
    """Return the efforts after a step in which each node has a store of `share` times its own conductance."""
    tangents = network.tangents(network.drops(effort))
    own = _own_conductance(network, [t.slope for t in tangents])
    ground: list[Row] = []
    flow: list[Row] = []
    for node in range(len(network.plan.names)):
        extra = share * own[node]
        held, given = network.cells.ground[node], network.cells.flow[node]
        ground.append(extra if held is None else held + extra)
        flow.append(extra * effort[node] if given is None else given + extra * effort[node])
    cells = Cells(network.cells.between, ground, flow, network.cells.back)
    return Nonlinear(network.plan, cells, network.groups, network.parameters, network.scales).companion(tangents)


def _own_conductance(network: Nonlinear, slopes: list[Array]) -> Array:
    """Return the sum of the conductances at each node, (node, batch)."""
    own = np.zeros((len(network.plan.names) + 1, slopes[0].shape[-1]))
    for pair, edge in network.plan.edge.items():
        row = network.cells.between[edge]
        if row is not None:
            own[list(pair)] += row
    for node, row in enumerate(network.cells.ground):
        if row is not None:
            own[node] += row
    for group, slope in zip(network.groups, slopes, strict=True):
        first, second = (slope[0], slope[1]) if group.law.directed else (slope, slope)
        np.add.at(own, group.first, first)
        np.add.at(own, group.second, second)
    return own[:-1]
