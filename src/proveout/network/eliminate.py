"""Batched elimination of nodes by the star-mesh transformation.

A nodal matrix of conductances is never formed. Each node is eliminated by turning the star of its conductances into a
mesh (Rosen 1924): ``g_ij += g_ik g_jk / s_k`` with ``s_k`` the sum of all conductances at node k, ground included.
There is no subtraction anywhere, so every conductance keeps its relative accuracy (the argument of Grassmann, Taksar
and Heyman 1985 for Markov chains): a node that hangs on leakage alone is as accurate as one on a battery cable.

The order is fixed beforehand: by stage, and within a stage least degree first. A row is the values of one conductance
or flow over a batch; it may be shorter where it is the same in all variants (one value that broadcasts), or None where
it is zero in all, and then it costs nothing.

A branch may be directed: what leaves the first node goes by that node's effort with one conductance, by the second's
with another (gas through a restriction). The matrix is then not symmetric, but nothing is lost from its columns but to
ground, and the same elimination works on it without subtraction, with a second conductance for each edge (`back`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from proveout.errors import NetworkError, SingularError
from proveout.network.laws import Array

__all__ = ["Cells", "Elimination", "Factor", "Row", "Star", "Step", "added", "carry", "recover", "transposed"]

Row = Array | None


@dataclass(frozen=True)
class Step:
    """One node of the plan: its later neighbours, its edges to them, and (edge, place, place) for each pair of them."""

    node: int
    neighbours: tuple[int, ...]
    edges: tuple[int, ...]
    mesh: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True)
class Cells:
    """Conductances by edge and to ground by node, and flows injected by node, of a network not yet eliminated.

    `back` is None where no branch is directed; else `between` is what the lower node sends along an edge by its own
    effort and `back` what the higher one does.
    """

    between: list[Row]
    ground: list[Row]
    flow: list[Row]
    back: list[Row] | None = None

    def copy(self) -> Cells:
        """Return cells that can be changed without changing these; the rows themselves never change."""
        back = None if self.back is None else self.back.copy()
        return Cells(self.between.copy(), self.ground.copy(), self.flow.copy(), back)

    def both_ways(self) -> Cells:
        """Return cells that take directed branches too; the branches they hold conduct alike both ways."""
        return Cells(self.between, self.ground, self.flow, self.between.copy())


@dataclass(frozen=True)
class Star:
    """An eliminated node: 1 / its conductance sum, and the shares of its flow that go to its neighbours.

    `inward` is how its effort follows those of its neighbours; the same shares where no branch is directed.
    """

    step: Step
    inverse: Array
    shares: tuple[Row, ...]
    inward: tuple[Row, ...]


Factor = tuple[Star, ...]


def added(row: Row, more: Row) -> Row:
    """Return the sum of two rows."""
    if row is None:
        return more
    return row if more is None else row + more


class Elimination:
    """The elimination plan of a network whose conductances lie on `pairs` of the named nodes (ground apart).

    Attributes
    ----------
    edge : dict
        Number of the edge between two nodes (lower first), fill-in included.
    stages : tuple of tuples of Step
        The steps of each stage; `stage` gives the stage of each node, 0 for all if left out.
    """

    def __init__(
        self, names: Sequence[str], pairs: Iterable[tuple[int, int]], stage: Sequence[int] | None = None
    ) -> None:
        self.names = tuple(names)
        self.edge: dict[tuple[int, int], int] = {}
        near: list[set[int]] = [set() for _ in self.names]
        for i, j in pairs:
            self._edge(i, j)
            near[i].add(j)
            near[j].add(i)
        turn = [0] * len(near) if stage is None else list(stage)
        self.stages = tuple(
            tuple(self._eliminate(near, {k for k, t in enumerate(turn) if t == number}))
            for number in range(max(turn, default=0) + 1)
        )

    def _edge(self, i: int, j: int) -> int:
        return self.edge.setdefault((min(i, j), max(i, j)), len(self.edge))

    def _eliminate(self, near: list[set[int]], left: set[int]) -> Iterable[Step]:
        while left:
            node = min(left, key=lambda k: (len(near[k]), k))
            left.remove(node)
            around = sorted(near[node])
            for k in around:
                near[k].discard(node)
                near[k].update(j for j in around if j != k)
            yield Step(
                node,
                tuple(around),
                tuple(self._edge(node, k) for k in around),
                tuple((self._edge(around[p], around[q]), p, q) for q in range(len(around)) for p in range(q)),
            )

    def stamp(self, cells: Cells, first: int, second: int, conductance: Row, source: Row) -> None:
        """Add a branch with ``flow = conductance x difference - source`` between two nodes (ground is the last)."""
        if first == second:
            return
        earth = len(self.names)
        if earth in (first, second):
            node = first if second == earth else second
            cells.ground[node] = added(cells.ground[node], conductance)
        else:
            edge = self.edge[min(first, second), max(first, second)]
            cells.between[edge] = added(cells.between[edge], conductance)
            if cells.back is not None:
                cells.back[edge] = added(cells.back[edge], conductance)
        self._inject(cells, first, second, source)

    def stamp_directed(self, cells: Cells, first: int, second: int, out: Row, back: Row, source: Row) -> None:
        """Add a branch with ``flow = out x first effort - back x second effort - source``; `cells` go both ways."""
        if first == second or cells.back is None:
            return
        earth = len(self.names)
        if earth in (first, second):
            node, own = (first, out) if second == earth else (second, back)
            cells.ground[node] = added(cells.ground[node], own)
        else:
            edge = self.edge[min(first, second), max(first, second)]
            lower, higher = (out, back) if first < second else (back, out)
            cells.between[edge] = added(cells.between[edge], lower)
            cells.back[edge] = added(cells.back[edge], higher)
        self._inject(cells, first, second, source)

    def _inject(self, cells: Cells, first: int, second: int, source: Row) -> None:
        earth = len(self.names)
        if source is not None:
            if first != earth:
                cells.flow[first] = added(cells.flow[first], source)
            if second != earth:
                cells.flow[second] = added(cells.flow[second], -source)

    def reduce(self, cells: Cells, steps: Iterable[Step]) -> Factor:
        """Eliminate some nodes; the conductances of `cells` become those of the network that is left.

        Raises
        ------
        SingularError
            If nothing holds a node; the message names it.
        NetworkError
            If a conductance is infinite; the message names the node.
        """
        return tuple(self._star(cells, step) for step in steps)

    def _star(self, cells: Cells, step: Step) -> Star:
        between, ground = cells.between, cells.ground
        own = ground[step.node]
        star = inner = [between[edge] for edge in step.edges]
        if cells.back is not None:
            ways = [(between[edge], cells.back[edge]) for edge in step.edges]
            lower = [step.node < k for k in step.neighbours]
            star = [way[0] if first else way[1] for way, first in zip(ways, lower, strict=True)]
            inner = [way[1] if first else way[0] for way, first in zip(ways, lower, strict=True)]
        total = own
        for g in star:
            total = added(total, g)
        if total is None or not total.min() > 0:
            raise SingularError(
                f"node '{self.names[step.node]}' is held by nothing: no element and no leakage reaches it from "
                f"ground; give the circuit a leakage, or connect the node"
            )
        if not total.max() < np.inf:
            raise NetworkError(
                f"a conductance at node '{self.names[step.node]}' is infinite; give every closed branch a small "
                f"resistance above 0"
            )
        inverse = 1.0 / total
        shares = tuple(None if g is None else g * inverse for g in star)
        inward = shares if cells.back is None else tuple(None if g is None else g * inverse for g in inner)
        if own is not None:
            for neighbour, share in zip(step.neighbours, inward, strict=True):
                if share is not None:
                    ground[neighbour] = added(ground[neighbour], share * own)
        for edge, p, q in step.mesh:
            g, share = inner[p], shares[q]
            if g is not None and share is not None:
                between[edge] = added(between[edge], g * share)
            if cells.back is not None:
                g, share = inner[q], shares[p]
                if g is not None and share is not None:
                    cells.back[edge] = added(cells.back[edge], g * share)
        return Star(step, inverse, shares, inward)

    def factor(self, cells: Cells) -> Factor:
        """Eliminate all nodes; the conductances of `cells` are overwritten; errors as in `reduce`."""
        return self.reduce(cells, (step for stage in self.stages for step in stage))

    def solve(self, factor: Factor, injection: Array | Sequence[Row]) -> Array:
        """Return the node efforts (node, ..., batch) for the injected flows, of one shape (or rows that broadcast)."""
        shapes = [star.inverse.shape for star in factor] + [row.shape for row in injection if row is not None]
        effort = np.empty((len(self.names), *np.broadcast_shapes(*shapes)))
        self.solve_into(factor, list(injection), effort)
        return effort

    def solve_into(self, factor: Factor, flow: list[Row], effort: Array) -> None:
        """Write the node efforts into `effort`; `flow` is overwritten."""
        carry(factor, flow)
        recover(factor, flow, effort)


def transposed(factor: Factor) -> Factor:
    """Return the factor of the transposed network, which the adjoint needs; the same where no branch is directed."""
    return tuple(Star(star.step, star.inverse, star.inward, star.shares) for star in factor)


def carry(factor: Factor, flow: list[Row]) -> None:
    """Carry the flows injected at the eliminated nodes to the nodes that are left, in place."""
    for star in factor:
        own = flow[star.step.node]
        if own is not None:
            for neighbour, share in zip(star.step.neighbours, star.shares, strict=True):
                if share is not None:
                    flow[neighbour] = added(flow[neighbour], share * own)


def recover(factor: Factor, flow: Sequence[Row], effort: Array | Sequence[Array]) -> None:
    """Write the efforts of the eliminated nodes into the rows of `effort`, from those of their neighbours in it."""
    for star in reversed(factor):
        row, own = effort[star.step.node], flow[star.step.node]
        if own is None:
            row[...] = 0.0
        else:
            np.multiply(own, star.inverse, out=row)
        for neighbour, share in zip(star.step.neighbours, star.inward, strict=True):
            if share is not None:
                row += share * effort[neighbour]
