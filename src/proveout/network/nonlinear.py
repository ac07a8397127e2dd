"""A batch of small nonlinear networks, and its linear companion at given effort differences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from proveout.network.eliminate import Cells, Elimination, Row
from proveout.network.laws import Array
from proveout.network.netlist import Group, Index

__all__ = ["Nonlinear", "Tangent", "stamp_tangents"]


@dataclass(frozen=True)
class Tangent:
    """Effort differences (branch, batch) of one law group, and flow and slope there; as `Law` has them if directed."""

    drop: Array
    flow: Array
    slope: Array

    def take(self, columns: Index) -> Tangent:
        """Return the tangents of some variants."""
        return Tangent(self.drop[..., columns], self.flow[..., columns], self.slope[..., columns])


@dataclass(frozen=True)
class Nonlinear:
    """A batch of networks: linear branches in `cells`, nonlinear ones in `groups`; ground is the last node.

    Attributes
    ----------
    parameters : sequence of (parameter, branch, batch) float
        For each group.
    scales : (node,) float, optional
        Usual effort of each node, ground last; None where all are 1.
    """

    plan: Elimination
    cells: Cells
    groups: Sequence[Group]
    parameters: Sequence[Array]
    scales: Array | None = None

    @property
    def directed(self) -> bool:
        """Whether some branch is directed; there is no content then."""
        return any(group.law.directed for group in self.groups)

    def take(self, columns: Index) -> Nonlinear:
        """Return the networks of some variants."""
        cells = Cells(*([_taken(row, columns) for row in rows] for rows in self._rows()))
        cells = cells.both_ways() if self.cells.back is not None else cells
        return Nonlinear(self.plan, cells, self.groups, [p[:, :, columns] for p in self.parameters], self.scales)

    def _rows(self) -> tuple[list[Row], list[Row], list[Row]]:
        return self.cells.between, self.cells.ground, self.cells.flow

    def drops(self, effort: Array) -> list[Array]:
        """Return what the branches of all groups see of the efforts (node, batch), as `Group.across`."""
        return [group.across(effort) for group in self.groups]

    def distance(self, old: Sequence[Array], new: Sequence[Array]) -> Array:
        """Return the largest change (batch,) of what a branch sees, in usual efforts of its nodes."""
        changes = []
        for group, before, after in zip(self.groups, old, new, strict=True):
            change = np.abs(after - before)
            if self.scales is not None:
                change /= np.minimum(self.scales[group.first], self.scales[group.second])[:, None]
            changes.append(change.max(axis=tuple(range(change.ndim - 1))))
        return np.asarray(np.max(changes, axis=0))

    def size(self, effort: Array) -> Array:
        """Return the largest effort (batch,) in usual efforts."""
        found = np.abs(effort)
        return np.asarray((found if self.scales is None else found / self.scales[:, None]).max(axis=0))

    def tangents(self, drops: Sequence[Array]) -> list[Tangent]:
        """Return the tangents of all groups at the given effort differences."""
        return [
            Tangent(u, *group.law.tangent(u, p))
            for group, u, p in zip(self.groups, drops, self.parameters, strict=True)
        ]

    def companion(self, tangents: Sequence[Tangent]) -> Array:
        """Return the efforts (node, batch) of the network whose nonlinear branches are replaced by their tangents."""
        cells = self.cells.copy()
        for group, at in zip(self.groups, tangents, strict=True):
            stamp_tangents(self.plan, cells, group, at.drop, at.flow, at.slope)
        effort = np.zeros((len(self.plan.names) + 1, tangents[0].flow.shape[-1]))
        self.plan.solve_into(self.plan.factor(cells), cells.flow, effort)
        return effort


def stamp_tangents(plan: Elimination, cells: Cells, group: Group, drop: Array, flow: Array, slope: Array) -> None:
    """Add the companions of one law group's branches: their tangents at what they see."""
    ends = list(zip(group.first.tolist(), group.second.tolist(), strict=True))
    if group.law.directed:
        source = slope[0] * drop[0] - slope[1] * drop[1] - flow
        for k, (a, b) in enumerate(ends):
            plan.stamp_directed(cells, a, b, slope[0, k], slope[1, k], source[k])
    else:
        source = slope * drop - flow
        for k, (a, b) in enumerate(ends):
            plan.stamp(cells, a, b, slope[k], source[k])


def _taken(row: Row, columns: Index) -> Row:
    return row if row is None or len(row) == 1 else row[columns]
