"""Steady state of a batch of networks: branches by reduction and Newton's method, gates settled from outside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from proveout.errors import DivergedError, NetworkError
from proveout.network.eliminate import Factor
from proveout.network.laws import Array
from proveout.network.netlist import Batch, Netlist
from proveout.network.nonlinear import stamp_tangents
from proveout.network.reduction import Reduction, condensed, empty_cells, linear_branches, stages

__all__ = ["Solution", "branch_drops", "linearise", "solve_steady"]

Flags = npt.NDArray[np.bool_]
SAME = 1e-9  # relative difference of a driven parameter below which the network need not be solved again
FREE_SETTLINGS = 5  # rounds in which gates may open again; from then on they only close, which must end


@dataclass(frozen=True)
class Solution:
    """Efforts (node, batch), ground last and zero; which gated elements are on; the parameters in force.

    Where every gated element is on, the parameters are the batch's own array: vary a copy of a batch, not the batch,
    if its solution is still to be observed.
    """

    effort: Array
    on: Flags
    parameters: Array


def branch_drops(netlist: Netlist, effort: Array) -> list[Array]:
    """Return for each law group what its branches see of the efforts (`Group.across`)."""
    return [group.across(effort) for group in netlist.groups]


def linearise(netlist: Netlist, parameters: Array, effort: Array) -> tuple[Factor, Array]:
    """Return the eliminated linear network at an operating point, and its companion injections (node, batch).

    Parameters
    ----------
    parameters : (row, batch) float
    effort : (node, batch) float
    """
    plan = netlist.elimination
    cells = empty_cells(plan, netlist.leaks)
    if netlist.directed:
        cells = cells.both_ways()
    rows = condensed(parameters)
    for a, b, conductance, source in linear_branches(netlist):
        plan.stamp(cells, a, b, rows[conductance], rows[source])
    for group, u in zip(netlist.groups, branch_drops(netlist, effort), strict=True):
        if not group.law.linear:
            flow, slope = group.law.tangent(u, parameters[group.rows])
            stamp_tangents(plan, cells, group, u, flow, slope)
    injection = np.zeros((netlist.size, parameters.shape[1]))
    for node, flow_in in enumerate(cells.flow):
        if flow_in is not None:
            injection[node] = flow_in
    return plan.factor(cells), injection


def solve_steady(netlist: Netlist, batch: Batch, start: Array | None = None, tolerance: float = 1e-9) -> Solution:
    """Solve a batch of networks for their steady state.

    Parameters
    ----------
    netlist : Netlist
    batch : Batch
    start : (node, batch) or (node, 1) float, optional
        Efforts to start from; zeros otherwise. Near ones save time, any will do.
    tolerance : float
        Largest last step, relative to the largest effort plus one unit.

    Returns
    -------
    Solution
        A gated element is on where its set-up lets it and its gate has its threshold. One whose gate drops as it comes
        on and returns as it goes off (chattering) is left off.

    Raises
    ------
    NetworkError
        If a parameter is not a finite number; the message names the element and the parameter.
    SingularError
        If nothing holds a node.
    DivergedError
        If the steps do not settle; the message names the node and the elements at it.
    """
    effort = np.empty((len(netlist.nodes), batch.on.shape[1]))
    on = batch.enabled.copy()
    parameters = _in_force(netlist, batch, on)
    _solve(netlist, parameters, None if start is None else np.broadcast_to(start, effort.shape), tolerance, effort)
    for settling in range(FREE_SETTLINGS + len(netlist.gates) + len(netlist.drives) + 1):
        want = _gates_open(netlist, batch, effort)
        if settling >= FREE_SETTLINGS:
            want &= on
        driven = _driven(netlist, batch, effort)
        moved = _moved(driven, parameters)
        columns = np.flatnonzero((want != on).any(axis=0) | moved)
        on = want
        if not len(columns):
            break
        part, settled = _in_force(netlist, batch.take(columns), on[:, columns]), effort[:, columns]
        for row, value in driven.items():
            part[row] = value[columns]
        _solve(netlist, part, settled.copy(), tolerance, settled)
        if parameters is batch.on:
            parameters = parameters.copy()
        parameters[:, columns], effort[:, columns] = part, settled
    return Solution(effort, on, parameters)


def _driven(netlist: Netlist, batch: Batch, effort: Array) -> dict[int, Array]:
    """Return the parameter rows of driven parts at these efforts."""
    return {
        row: value
        for part, held in batch.driven.items()
        for row, value in netlist.driven_rows(part, held, effort).items()
    }


def _moved(driven: Mapping[int, Array], parameters: Array) -> Flags:
    """Return where a driven row is not what is in force, (batch,)."""
    moved = np.zeros(parameters.shape[1], dtype=bool)
    for row, value in driven.items():
        moved |= np.abs(value - parameters[row]) > SAME * np.abs(parameters[row])
    return moved


@lru_cache(maxsize=256)
def _reduction(netlist: Netlist, stage: tuple[int, ...]) -> Reduction:
    return Reduction(netlist, stage)


def _solve(netlist: Netlist, parameters: Array, start: Array | None, tolerance: float, effort: Array) -> None:
    effort[-1] = 0.0
    rows = condensed(parameters)
    try:
        with np.errstate(invalid="ignore", over="ignore"):
            _reduction(netlist, stages(netlist, rows)).solve(parameters, rows, start, tolerance, effort)
    except NetworkError as error:
        raise _cause(netlist, parameters) or error from None
    if not np.isfinite(effort.sum()):
        node = int((~np.isfinite(effort)).any(axis=1).argmax())
        raise _cause(netlist, parameters) or DivergedError(
            f"the effort at node '{netlist.nodes[node]}' grows beyond all numbers; check the values of its elements"
        )


def _cause(netlist: Netlist, parameters: Array) -> NetworkError | None:
    """Return what is wrong with the parameters if some are no numbers: the cause of all else that is seen."""
    bad = ~np.isfinite(parameters)
    if not bad.any():
        return None
    row, variant = np.argwhere(bad)[0].tolist()
    return NetworkError(
        f"{netlist.row_name(row)} is {parameters[row, variant]} in variant {variant}; it must be a finite number: "
        f"give an open branch an infinite resistance and a closed one a small resistance above 0"
    )


def _gates_open(netlist: Netlist, batch: Batch, effort: Array) -> Flags:
    want = batch.enabled.copy()
    for k, gate in enumerate(netlist.gates):
        want[k] &= effort[gate.first] - effort[gate.second] >= batch.threshold[k]
    return want


def _in_force(netlist: Netlist, batch: Batch, on: Flags) -> Array:
    if on.all():
        return batch.on
    parameters = batch.on.copy()
    for k, gate in enumerate(netlist.gates):
        if not on[k].all():
            parameters[gate.rows] = np.where(on[k], batch.on[gate.rows], batch.off[gate.rows])
    return parameters
