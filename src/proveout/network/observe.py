"""What can be seen of a solved network: efforts, flows, inner resistance, and their slopes by the adjoint.

For an observed effort difference v_a - v_b the adjoint solution lambda = J^-1 (e_a - e_b) gives, from the same
elimination, the inner resistance lambda_a - lambda_b and every derivative: d(v_a - v_b)/dp = - sum over branches of
(lambda drop) x d flow / d p (Director and Rohrer 1969).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from proveout.network.eliminate import Row, transposed
from proveout.network.laws import LAWS, Array
from proveout.network.netlist import Netlist, PartState
from proveout.network.reduction import CHUNK
from proveout.network.steady import Solution, branch_drops, linearise

__all__ = ["Adjoint", "adjoint", "flow_through", "row_slopes", "sensitivities"]


@dataclass(frozen=True)
class Adjoint:
    """Adjoint solutions (node, pair, batch), ground last, and the inner resistances seen by the pairs (pair, batch)."""

    field: Array
    resistance: Array


def adjoint(netlist: Netlist, solution: Solution, pairs: Sequence[tuple[int, int]]) -> Adjoint:
    """Return the adjoint of the effort difference of each pair of nodes (ground is the last node)."""
    count = solution.effort.shape[1]
    field = np.zeros((netlist.size + 1, len(pairs), count))
    unit = _unit_flows(netlist, pairs)
    for begin in range(0, count if pairs else 0, CHUNK):
        columns = slice(begin, begin + CHUNK)
        factor, _ = linearise(netlist, solution.parameters[:, columns], solution.effort[:, columns])
        if netlist.directed:
            factor = transposed(factor)
        netlist.elimination.solve_into(factor, unit.copy(), field[:-1, :, columns])
    drops = [field[a, k] - field[b, k] for k, (a, b) in enumerate(pairs)]
    return Adjoint(field, np.array(drops).reshape(len(pairs), count))


def _unit_flows(netlist: Netlist, pairs: Sequence[tuple[int, int]]) -> list[Row]:
    """Return per node the flow of one unit (pair, 1) that goes in at the first node of each pair, out at the second."""
    unit = np.zeros((netlist.size + 1, len(pairs), 1))
    for k, (a, b) in enumerate(pairs):
        unit[a, k] += 1.0
        unit[b, k] -= 1.0
    return [row if row.any() else None for row in unit[:-1]]


def flow_through(netlist: Netlist, solution: Solution, part: int, branch: int = 0) -> Array:
    """Return the flow (batch,) in one branch of a part, from the branch's first to its second end."""
    blocks = netlist.part_rows[part]
    if not 0 <= branch < len(blocks):
        raise LookupError(f"part '{netlist.parts[part].name}' has no branch {branch}; it has {len(blocks)}, from 0")
    first, second = netlist.branch_nodes(part, branch)
    law = LAWS[netlist.parts[part].element.branches[branch].law]
    ends = solution.effort[first], solution.effort[second]
    return law.flow(np.stack(ends) if law.directed else ends[0] - ends[1], solution.parameters[blocks[branch]])


def row_slopes(
    netlist: Netlist,
    states: Sequence[PartState],
    part: int,
    parameter: str,
    step: float = 1e-4,
    on: bool | None = None,
) -> dict[int, float]:
    """Return how a part's parameter rows move with a relative change of one parameter of the part.

    Parameters
    ----------
    states : sequence of PartState
        One state for each part; the slopes are taken at the state of `part`, whose values must be numbers.
    step : float
        Relative half-width of the central difference.
    on : bool, optional
        Whether the part is on, where its gate and not its state decides (see `Solution.on`).

    Returns
    -------
    dict
        Parameter row to d row / d ln(parameter), in the row's unit; rows that do not move are left out.
    """
    state = states[part]
    value = float(np.asarray(state.values[parameter]))

    def rows_at(scaled: float) -> list[float]:
        moved = PartState({**state.values, parameter: scaled}, state.on, state.present, state.forced)
        set_on = moved.on if moved.forced is None else moved.forced
        blocks = netlist.branch_parameters(part, moved, set_on if on is None else on)
        return [float(np.asarray(x)) for block in blocks for x in block]

    rows = [row for block in netlist.part_rows[part] for row in block]
    up, down = rows_at(value * (1 + step)), rows_at(value * (1 - step))
    slopes = {row: (hi - lo) / (2 * step) for row, hi, lo in zip(rows, up, down, strict=True)}
    return {row: slope for row, slope in slopes.items() if np.isfinite(slope) and slope != 0.0}


def sensitivities(
    netlist: Netlist, solution: Solution, found: Adjoint, row_changes: Sequence[Mapping[int, Array]]
) -> Array:
    """Return d(observed difference)/d latent, (pair, latent, batch).

    Parameters
    ----------
    row_changes : sequence of mapping from parameter row to (batch,) float
        For each latent, how the parameter rows move with it.
    """
    pairs, count = found.resistance.shape
    result = np.zeros((pairs, len(row_changes), count))
    drops = branch_drops(netlist, solution.effort)
    for group, u in zip(netlist.groups, drops, strict=True):
        wanted = {int(r): (i, k) for i, rows in enumerate(group.rows) for k, r in enumerate(rows)}
        touched = [(z, row) for z, change in enumerate(row_changes) for row in change if row in wanted]
        if not touched:
            continue
        by_parameter = group.law.by_parameter(u, solution.parameters[group.rows])
        for z, row in touched:
            i, k = wanted[row]
            drop = found.field[group.first[k]] - found.field[group.second[k]]
            result[:, z] -= drop * (by_parameter[i, k] * row_changes[z][row])
    return result
