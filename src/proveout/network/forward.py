"""How all efforts of a solved network move with many latents at once: the direct method, the adjoint's counterpart.

``J dv = - sum over branches of (df/dp) dp`` with the same elimination for every latent (Director and Rohrer 1969 name
both ways). It is taken where the adjoint does not reach: through parts that are driven by an effort, and through time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from proveout.network.eliminate import Factor, Row
from proveout.network.laws import LAWS, Array
from proveout.network.netlist import Batch, Netlist
from proveout.network.steady import Solution, branch_drops, linearise

__all__ = ["Injection", "forward"]

Injection = Sequence[tuple[int, int, Array]]
"""First node, second node and by how much (latent, batch) each latent raises the flow from the first to the second."""
WIDTH = 1e-4  # relative half-width of the difference by which a driven part's rows are followed


def forward(
    netlist: Netlist, batch: Batch, solution: Solution, changes: Sequence[Mapping[int, Array]], more: Injection = ()
) -> Array:
    """Return d effort / d latent, (node, latent, batch), ground last.

    Parameters
    ----------
    batch : Batch
        Whose solution it is; says which parts are driven.
    changes : sequence of mapping from parameter row to (batch,) float
        For each latent, how the parameter rows move with it.
    more : sequence
        Flows that move with the latents beside those (what a store held before).
    """
    count = solution.effort.shape[1]
    factor, _ = linearise(netlist, solution.parameters, solution.effort)
    base = np.zeros((netlist.size + 1, len(changes), count))
    drops = branch_drops(netlist, solution.effort)
    for group, u in zip(netlist.groups, drops, strict=True):
        wanted = {int(r): (i, k) for i, rows in enumerate(group.rows) for k, r in enumerate(rows)}
        touched = [(z, row) for z, change in enumerate(changes) for row in change if row in wanted]
        if not touched:
            continue
        by_parameter = group.law.by_parameter(u, solution.parameters[group.rows])
        for z, row in touched:
            i, k = wanted[row]
            flow = by_parameter[i, k] * changes[z][row]
            base[group.first[k], z] -= flow
            base[group.second[k], z] += flow
    for first, second, flow in more:
        base[first] -= flow
        base[second] += flow
    moved = _solved(netlist, factor, base)
    if batch.driven:
        slopes = _driven_slopes(netlist, batch, solution)
        for _ in netlist.drives:
            moved = _solved(netlist, factor, base + _by_drives(netlist, slopes, moved))
    return moved


def _solved(netlist: Netlist, factor: Factor, base: Array) -> Array:
    moved = np.zeros_like(base)
    rows: list[Row] = [row if row.any() else None for row in base[:-1]]
    netlist.elimination.solve_into(factor, rows, moved[:-1])
    return moved


def _driven_slopes(netlist: Netlist, batch: Batch, solution: Solution) -> dict[int, list[tuple[int, int, Array]]]:
    """Return for each driven part the slopes (batch,) of its branches' flows by the effort that drives it."""
    found: dict[int, list[tuple[int, int, Array]]] = {}
    for part, held in batch.driven.items():
        first, second = netlist.drives[part]
        width = WIDTH * (1.0 + np.abs(solution.effort[first] - solution.effort[second]))
        ends = []
        for sign in (1.0, -1.0):
            effort = solution.effort.copy()
            effort[first] += sign * width
            ends.append(netlist.driven_rows(part, held, effort))
        rows = {row: (ends[0][row] - ends[1][row]) / (2.0 * width) for row in ends[0]}
        found[part] = _flow_slopes(netlist, part, solution, rows)
    return found


def _flow_slopes(
    netlist: Netlist, part: int, solution: Solution, rows: Mapping[int, Array]
) -> list[tuple[int, int, Array]]:
    """Return the ends of a part's branches and how their flows (batch,) move with changes of its parameter rows."""
    found = []
    for branch, own in enumerate(netlist.part_rows[part]):
        first, second = netlist.branch_nodes(part, branch)
        law = LAWS[netlist.parts[part].element.branches[branch].law]
        ends = solution.effort[first], solution.effort[second]
        u = np.stack(ends) if law.directed else ends[0] - ends[1]
        by_parameter = law.by_parameter(u, solution.parameters[own])
        flow = np.sum([by_parameter[i] * rows[row] for i, row in enumerate(own)], axis=0)
        found.append((first, second, np.asarray(flow)))
    return found


def _by_drives(netlist: Netlist, slopes: Mapping[int, list[tuple[int, int, Array]]], moved: Array) -> Array:
    base = np.zeros_like(moved)
    for part, branches in slopes.items():
        first, second = netlist.drives[part]
        drive = moved[first] - moved[second]
        for a, b, slope in branches:
            base[a] -= slope * drive
            base[b] += slope * drive
    return base
