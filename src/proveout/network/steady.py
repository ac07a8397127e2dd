"""Steady state of a batch of networks: Newton's method on the content, gates settled from outside.

The content of a network of monotone branches is convex and its minimum is the solution (Millar 1951), so a Newton step
that is halved until the content falls always arrives. Each step solves for the efforts themselves (companion sources),
not for their change, so that weakly held nodes lose nothing to rounding.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.errors import DivergedError
from proveout.network.eliminate import Factor
from proveout.network.laws import Array
from proveout.network.netlist import Batch, Netlist

__all__ = ["Solution", "branch_drops", "linearise", "solve_steady"]

Flags = npt.NDArray[np.bool_]
MOST_STEPS = 120
ROUNDING = 1e-14  # relative noise of a content, some tens of units in the last place
MOST_HALVINGS = 40
MOST_SETTLINGS = 6


@dataclass(frozen=True)
class Solution:
    """Efforts (node, batch), ground last and zero; which gated elements are on; the parameters in force."""

    effort: Array
    on: Flags
    parameters: Array


def branch_drops(netlist: Netlist, effort: Array) -> list[Array]:
    """Return for each law group the effort differences (branch, batch) of its branches."""
    return [effort[group.first] - effort[group.second] for group in netlist.groups]


def linearise(netlist: Netlist, parameters: Array, effort: Array) -> tuple[Factor, Array]:
    """Return the eliminated linear network at an operating point, and its companion injections (node, batch).

    Parameters
    ----------
    parameters : (row, batch) float
    effort : (node, batch) float
    """
    plan = netlist.elimination
    count = parameters.shape[1]
    between = np.zeros((len(plan.edge), count))
    ground = np.full((netlist.size, count), 1.0 / netlist.leakage)
    injection = np.zeros((netlist.size, count))
    for group, u in zip(netlist.groups, branch_drops(netlist, effort), strict=True):
        p = parameters[group.rows]
        if group.law.linear:
            slopes, sources = p
        else:
            slopes = group.law.slope(u, p)
            sources = slopes * u - group.law.flow(u, p)
        for k, (a, b) in enumerate(zip(group.first.tolist(), group.second.tolist(), strict=True)):
            _stamp(netlist, between, ground, injection, a, b, slopes[k], sources[k])
    return plan.factor(between, ground), injection


def _stamp(
    netlist: Netlist, between: Array, ground: Array, injection: Array, a: int, b: int, slope: Array, source: Array
) -> None:
    if a == b:
        return
    earth = netlist.size
    if a == earth:
        ground[b] += slope
    elif b == earth:
        ground[a] += slope
    else:
        between[netlist.elimination.edge[min(a, b), max(a, b)]] += slope
    if a != earth:
        injection[a] += source
    if b != earth:
        injection[b] -= source


def _content_change(netlist: Netlist, parameters: Array, effort: Array, step: Array) -> tuple[Array, Array, Array]:
    """Return the change of content over a full `step`, its slope at the start, and its rounding noise, (batch,) each."""
    leak = 1.0 / netlist.leakage
    change = np.sum(leak * step * (effort + 0.5 * step), axis=0)
    slope = np.sum(leak * step * effort, axis=0)
    size = np.abs(change)
    for group, u, d in zip(netlist.groups, branch_drops(netlist, effort), branch_drops(netlist, step), strict=True):
        p = parameters[group.rows]
        flow = group.law.flow(u, p)
        work = flow * d
        slope += np.sum(work, axis=0)
        size += np.sum(np.abs(work), axis=0)
        if group.law.linear:
            change += np.sum(d * (flow + 0.5 * p[0] * d), axis=0)
        else:
            before, after = group.law.content(u, p), group.law.content(u + d, p)
            change += np.sum(after - before, axis=0)
            size += np.sum(np.abs(before), axis=0)
    return change, slope, ROUNDING * size


def _descend(netlist: Netlist, parameters: Array, effort: Array, step: Array) -> Array:
    """Return the effort after the longest of the halved steps on which the content falls as Armijo asks."""
    length = np.ones(effort.shape[1])
    pending = np.arange(effort.shape[1])
    for _ in range(MOST_HALVINGS):
        trial = step[:, pending] * length[pending]
        change, slope, noise = _content_change(netlist, parameters[:, pending], effort[:, pending], trial)
        pending = pending[change > 1e-4 * slope + noise]
        if not len(pending):
            break
        length[pending] *= 0.5
    return effort + step * length


def _newton(netlist: Netlist, parameters: Array, effort: Array, tolerance: float) -> Array:
    nonlinear = any(not group.law.linear for group in netlist.groups)
    active = np.arange(parameters.shape[1])
    for _ in range(MOST_STEPS):
        now, p = effort[:, active], parameters[:, active]
        factor, injection = linearise(netlist, p, now)
        goal = np.vstack([netlist.elimination.solve(factor, injection), np.zeros((1, len(active)))])
        if not nonlinear:
            return goal
        step = goal - now
        far = np.abs(step).max(axis=0) > tolerance * (1.0 + np.abs(goal).max(axis=0))
        effort[:, active[~far]] = goal[:, ~far]
        active = active[far]
        if not len(active):
            return effort
        effort[:, active] = _descend(netlist, p[:, far], now[:, far], step[:, far])
    raise DivergedError(_where(netlist, step[:, far]))


def _where(netlist: Netlist, step: Array) -> str:
    node = int(np.abs(step).max(axis=1).argmax())
    owners = {
        netlist.parts[k].name
        for group in netlist.groups
        if not group.law.linear
        for a, b, k in zip(group.first, group.second, group.owners, strict=True)
        if node in (a, b)
    }
    at = f"; the elements at it: {', '.join(sorted(owners))}" if owners else ""
    return (
        f"the solution does not settle at node '{netlist.nodes[node]}' after {MOST_STEPS} steps{at}; check their values"
    )


def solve_steady(netlist: Netlist, batch: Batch, start: Array | None = None, tolerance: float = 1e-9) -> Solution:
    """Solve a batch of networks for their steady state.

    Parameters
    ----------
    netlist : Netlist
    batch : Batch
    start : (node, batch) float, optional
        Efforts to start from; zeros otherwise.
    tolerance : float
        Largest last step, relative to the largest effort plus one unit.

    Returns
    -------
    Solution
        A gated element is on where its set-up lets it and its gate has its threshold. One whose gate drops as it comes
        on and returns as it goes off (chattering) is left off.

    Raises
    ------
    SingularError
        If nothing holds a node.
    DivergedError
        If the steps do not settle; the message names the node and the elements at it.
    """
    count = batch.on.shape[1]
    effort = np.zeros((len(netlist.nodes), count)) if start is None else start.copy()
    on = batch.enabled.copy()
    parameters = batch.on.copy()
    columns = np.arange(count)
    for settling in range(2 * MOST_SETTLINGS):
        parameters[:, columns] = _in_force(netlist, batch.take(columns), on[:, columns])
        effort[:, columns] = _newton(netlist, parameters[:, columns], effort[:, columns], tolerance)
        want = _gates_open(netlist, batch, effort)
        if settling >= MOST_SETTLINGS:
            want &= on
        columns = np.flatnonzero((want != on).any(axis=0))
        on = want
        if not len(columns):
            break
    return Solution(effort, on, parameters)


def _gates_open(netlist: Netlist, batch: Batch, effort: Array) -> Flags:
    want = batch.enabled.copy()
    for k, gate in enumerate(netlist.gates):
        want[k] &= effort[gate.first] - effort[gate.second] >= batch.threshold[k]
    return want


def _in_force(netlist: Netlist, batch: Batch, on: Flags) -> Array:
    parameters = batch.on.copy()
    for k, gate in enumerate(netlist.gates):
        parameters[gate.rows] = np.where(on[k], batch.on[gate.rows], batch.off[gate.rows])
    return parameters
