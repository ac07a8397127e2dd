"""A batch of small nonlinear networks, and its linear companion at given effort differences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from proveout.network.eliminate import Cells, Elimination, Row
from proveout.network.laws import Array
from proveout.network.netlist import Group, Index

__all__ = ["Nonlinear", "Tangent"]


@dataclass(frozen=True)
class Tangent:
    """Effort differences (branch, batch) of one law group, and flow and slope there."""

    drop: Array
    flow: Array
    slope: Array

    def take(self, columns: Index) -> Tangent:
        """Return the tangents of some variants."""
        return Tangent(self.drop[:, columns], self.flow[:, columns], self.slope[:, columns])


@dataclass(frozen=True)
class Nonlinear:
    """A batch of networks: linear branches in `cells`, nonlinear ones in `groups`; ground is the last node.

    Attributes
    ----------
    parameters : sequence of (parameter, branch, batch) float
        For each group.
    """

    plan: Elimination
    cells: Cells
    groups: Sequence[Group]
    parameters: Sequence[Array]

    def take(self, columns: Index) -> Nonlinear:
        """Return the networks of some variants."""
        cells = Cells(*([_taken(row, columns) for row in rows] for rows in self._rows()))
        return Nonlinear(self.plan, cells, self.groups, [p[:, :, columns] for p in self.parameters])

    def _rows(self) -> tuple[list[Row], list[Row], list[Row]]:
        return self.cells.between, self.cells.ground, self.cells.flow

    def drops(self, effort: Array) -> list[Array]:
        """Return the effort differences (branch, batch) of all groups at the efforts (node, batch)."""
        return [effort[group.first] - effort[group.second] for group in self.groups]

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
            source = at.slope * at.drop - at.flow
            for k, (a, b) in enumerate(zip(group.first.tolist(), group.second.tolist(), strict=True)):
                self.plan.stamp(cells, a, b, at.slope[k], source[k])
        effort = np.zeros((len(self.plan.names) + 1, tangents[0].drop.shape[1]))
        self.plan.solve_into(self.plan.factor(cells), cells.flow, effort)
        return effort


def _taken(row: Row, columns: Index) -> Row:
    return row if row is None or len(row) == 1 else row[columns]
