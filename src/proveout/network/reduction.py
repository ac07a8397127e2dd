"""How a netlist is eliminated: what is equal in all variants once, what is linear once for each, the rest by Newton.

Nodes go in three stages. Nodes at branches that are linear and the same in all variants are eliminated once for the
batch; other nodes without a nonlinear branch once for each variant; what is left, the kernel, is a small nonlinear
network. Star-mesh elimination is exact at every stage, so the order changes the time alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from proveout.network.damped import damped
from proveout.network.eliminate import Cells, Elimination, Row, Step, carry, recover
from proveout.network.laws import Array
from proveout.network.netlist import Netlist
from proveout.network.newton import newton
from proveout.network.nonlinear import Nonlinear

__all__ = ["CHUNK", "Reduction", "condensed", "empty_cells", "in_columns", "linear_branches", "stages"]

CONSTANT, LINEAR, KERNEL = 0, 1, 2
PROBES = 16
CHUNK = 4096  # variants worked on at once: the rows in use stay in the cache, and the cost of a call is spread thin


def condensed(parameters: Array) -> list[Row]:
    """Return parameter rows: None where zero in all variants, one value where equal in all, else the row itself."""
    count = parameters.shape[1]
    probe = parameters[:, :: max(1, count // PROBES)]
    equal = (probe == parameters[:, :1]).all(axis=1).tolist()
    rows: list[Row] = []
    for row, maybe in zip(parameters, equal, strict=True):
        if maybe and (row == row[0]).all():
            rows.append(row[:1] if row[0] != 0.0 else None)
        else:
            rows.append(row)
    return rows


def in_columns(row: Row, columns: slice) -> Row:
    """Return the part of a row that belongs to some variants."""
    return row if row is None or len(row) == 1 else row[columns]


def empty_cells(plan: Elimination, leaks: Array) -> Cells:
    """Return cells that hold the leakage from each node to ground alone; `leaks` : (node,) conductances."""
    ground: list[Row] = [leak if leak[0] > 0.0 else None for leak in leaks[:, None]]
    return Cells([None] * len(plan.edge), ground, [None] * len(leaks))


def linear_branches(netlist: Netlist) -> Iterator[tuple[int, int, int, int]]:
    """Yield the two nodes, the row of the conductance and the row of the source of each linear branch."""
    for group in netlist.groups:
        if group.law.linear:
            yield from zip(group.first.tolist(), group.second.tolist(), *group.rows.tolist(), strict=True)


def _varies(row: Row) -> bool:
    return row is not None and len(row) > 1


def stages(netlist: Netlist, rows: Sequence[Row]) -> tuple[int, ...]:
    """Return the stage in which each node (ground apart) can be eliminated for these parameter rows."""
    stage = [CONSTANT] * (netlist.size + 1)
    for a, b, conductance, source in linear_branches(netlist):
        if _varies(rows[conductance]) or _varies(rows[source]):
            stage[a] = stage[b] = LINEAR
    for group in netlist.groups:
        if not group.law.linear:
            for node in (*group.first.tolist(), *group.second.tolist()):
                stage[node] = KERNEL
    return tuple(stage[:-1])


class Reduction:
    """The elimination of a netlist whose nodes fall in the given stages."""

    def __init__(self, netlist: Netlist, stage: Sequence[int]) -> None:
        self.netlist = netlist
        self.plan = Elimination(netlist.nodes[:-1], netlist.pairs, stage)
        self._set_kernel([node for node, number in enumerate(stage) if number == KERNEL])

    def _set_kernel(self, nodes: list[int]) -> None:
        self.nodes = nodes
        place = {node: k for k, node in enumerate([*nodes, self.netlist.size])}
        inside = {pair: edge for pair, edge in self.plan.edge.items() if set(pair) <= place.keys()}
        self.kernel = Elimination(
            [self.netlist.nodes[node] for node in nodes], [(place[a], place[b]) for a, b in inside]
        )
        self.inside = list(inside.values())
        self.groups = [
            replace(
                group,
                first=np.array([place[a] for a in group.first.tolist()], dtype=np.intp),
                second=np.array([place[b] for b in group.second.tolist()], dtype=np.intp),
            )
            for group in self.netlist.groups
            if not group.law.linear
        ]

    def _steps(self, stage: int) -> tuple[Step, ...]:
        return self.plan.stages[stage] if stage < len(self.plan.stages) else ()

    def solve(
        self, parameters: Array, rows: Sequence[Row], start: Array | None, tolerance: float, effort: Array
    ) -> None:
        """Write the solution into `effort` (node, batch), ground last; arguments as for `solve_steady`.

        Parameters
        ----------
        parameters : (row, batch) float
        rows : sequence of Row
            The same, condensed.
        """
        once = empty_cells(self.plan, self.netlist.leaks)
        varying = []
        for a, b, conductance, source in linear_branches(self.netlist):
            if _varies(rows[conductance]) or _varies(rows[source]):
                varying.append((a, b, conductance, source))
            else:
                self.plan.stamp(once, a, b, rows[conductance], rows[source])
        first = self.plan.reduce(once, self._steps(CONSTANT))
        carry(first, once.flow)
        for begin in range(0, effort.shape[1], CHUNK):
            columns = slice(begin, begin + CHUNK)
            cells = once.copy()
            for a, b, conductance, source in varying:
                self.plan.stamp(cells, a, b, in_columns(rows[conductance], columns), in_columns(rows[source], columns))
            second = self.plan.reduce(cells, self._steps(LINEAR))
            carry(second, cells.flow)
            out = effort[:, columns]
            if self.nodes:
                guess = np.zeros(out.shape) if start is None else start[:, columns]
                out[self.nodes] = self._kernel_efforts(cells, parameters[:, columns], guess, tolerance)
            efforts = list(out)
            recover(second, cells.flow, efforts)
            recover(first, cells.flow, efforts)

    def _kernel_efforts(self, cells: Cells, parameters: Array, guess: Array, tolerance: float) -> Array:
        inner = Cells(
            [cells.between[edge] for edge in self.inside] + [None] * (len(self.kernel.edge) - len(self.inside)),
            [cells.ground[node] for node in self.nodes],
            [cells.flow[node] for node in self.nodes],
        )
        if self.netlist.directed:
            inner = inner.both_ways()
        own = [*self.nodes, self.netlist.size]
        scales = None if self.netlist.scales is None else self.netlist.scales[own]
        network = Nonlinear(self.kernel, inner, self.groups, [parameters[group.rows] for group in self.groups], scales)
        solve = newton if self.netlist.scales is None else damped
        return solve(network, guess[own], tolerance)[:-1]
