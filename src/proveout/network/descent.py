"""Newton's method on the content of a batch of nonlinear networks: slow and sure.

The content of a network of monotone branches is convex and its minimum is the solution (Millar 1951), so a Newton step
that is halved until the content falls always arrives. Each step solves for the efforts themselves (companion sources),
not for their change, so that weakly held nodes lose nothing to rounding.

Along a step d the content is convex too. Where it still falls at the end of the step, the whole step is better than
any part of it and the content need not be computed; that end slope needs only the flows that the next step uses anyway:
``excess = sum over nonlinear branches of (flow(u + d) - flow(u) - slope(u) d) d``, the linear branches cancel.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

import numpy as np

from proveout.errors import DivergedError
from proveout.network.laws import Array, ContentLaw
from proveout.network.netlist import Index
from proveout.network.nonlinear import Nonlinear, Tangent

__all__ = ["descend"]

MOST_STEPS = 200
MOST_HALVINGS = 40
SMALL_STEP = 1e-5  # relative to the efforts: below it the content differs by rounding alone and is not asked
ROUNDING = 1e-15


def descend(network: Nonlinear, start: Array, tolerance: float) -> Array:
    """Return the efforts (node, batch) at which the content is least; arguments and errors as for `newton`."""
    result = np.empty_like(start)
    active: Index = np.arange(start.shape[1])
    effort, tangents = start, network.tangents(network.drops(start))
    for _ in range(MOST_STEPS):
        goal = network.companion(tangents)
        far = np.abs(goal - effort).max(axis=0) > tolerance * (1.0 + np.abs(goal).max(axis=0))
        result[:, active[~far]] = goal[:, ~far]
        if not far.any():
            return result
        network, active = network.take(np.flatnonzero(far)), active[far]
        last, effort = effort[:, far], goal[:, far]
        tangents = _shortened(network, last, effort, [tangent.take(np.flatnonzero(far)) for tangent in tangents])
    raise DivergedError(_where(network, effort - last))


def _shortened(network: Nonlinear, effort: Array, goal: Array, at: Sequence[Tangent]) -> list[Tangent]:
    """Shorten in place the steps to `goal` on which the content does not fall; return the tangents where they end."""
    ahead = network.tangents(network.drops(goal))
    excess = np.zeros(goal.shape[1])
    for old, new in zip(at, ahead, strict=True):
        d = new.drop - old.drop
        excess += np.sum((new.flow - old.flow - old.slope * d) * d, axis=0)
    doubtful = np.flatnonzero(excess > 0)
    if len(doubtful):
        step = goal[:, doubtful] - effort[:, doubtful]
        large = np.abs(step).max(axis=0) > SMALL_STEP * (1.0 + np.abs(goal[:, doubtful]).max(axis=0))
        doubtful, step = doubtful[large], step[:, large]
    if len(doubtful):
        length = _length(network.take(doubtful), step, [tangent.take(doubtful) for tangent in at])
        short = length < 1.0
        columns = doubtful[short]
        goal[:, columns] = effort[:, columns] + step[:, short] * length[short]
        some = network.take(columns)
        for new, less in zip(ahead, some.tangents(some.drops(goal[:, columns])), strict=True):
            new.drop[:, columns], new.flow[:, columns], new.slope[:, columns] = less.drop, less.flow, less.slope
    return ahead


def _length(network: Nonlinear, step: Array, at: Sequence[Tangent]) -> Array:
    """Return the longest of the halved lengths (batch,) on which the content falls as Armijo asks."""
    drops = network.drops(step)
    bend = _linear_bend(network, step)
    slope = -bend - sum(np.sum(t.slope * d**2, axis=0) for t, d in zip(at, drops, strict=True))
    linear = slope - sum(np.sum(t.flow * d, axis=0) for t, d in zip(at, drops, strict=True))
    length = np.ones(step.shape[1])
    pending: Index = np.arange(step.shape[1])
    for _ in range(MOST_HALVINGS):
        t = length[pending]
        change = t * (linear[pending] + 0.5 * t * bend[pending])
        noise = ROUNDING * np.abs(t * linear[pending])
        for group, p, old, d in zip(network.groups, network.parameters, at, drops, strict=True):
            u, part = old.drop[:, pending], p[:, :, pending]
            law = cast("type[ContentLaw]", group.law)  # networks with directed branches are relaxed instead
            before, after = law.content(u, part), law.content(u + t * d[:, pending], part)
            change += np.sum(after - before, axis=0)
            noise += ROUNDING * np.sum(np.abs(before) + np.abs(after), axis=0)
        pending = pending[change > 1e-4 * t * slope[pending] + noise]
        if not len(pending):
            break
        length[pending] *= 0.5
    return length


def _linear_bend(network: Nonlinear, step: Array) -> Array:
    """Return the second derivative of the linear branches' content along the step, (batch,)."""
    bend = np.zeros(step.shape[1])
    for (a, b), edge in network.plan.edge.items():
        g = network.cells.between[edge]
        if g is not None:
            bend += g * (step[a] - step[b]) ** 2
    for node, g in enumerate(network.cells.ground):
        if g is not None:
            bend += g * step[node] ** 2
    return bend


def _where(network: Nonlinear, step: Array) -> str:
    node = int(np.abs(step).max(axis=1).argmax())
    owners = {
        owner
        for group in network.groups
        for a, b, owner in zip(group.first, group.second, group.owners, strict=True)
        if node in (a, b)
    }
    return (
        f"the solution does not settle at node '{network.plan.names[node]}' after {MOST_STEPS} steps; "
        f"the elements at it: {', '.join(sorted(owners))}; check their values"
    )
