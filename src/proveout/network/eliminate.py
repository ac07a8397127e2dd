"""Batched elimination of nodes by the star-mesh transformation.

A nodal matrix of conductances is never formed. Each node is eliminated by turning the star of its conductances into a
mesh (Rosen 1924): ``g_ij += g_ik g_jk / s_k`` with ``s_k`` the sum of all conductances at node k, ground included. There
is no subtraction anywhere, so every conductance keeps its relative accuracy (the argument of Grassmann, Taksar and
Heyman 1985 for Markov chains): a node that hangs on leakage alone is as accurate as one on a battery cable. The order
is fixed once for a network (least degree first); each arithmetic step then works on a whole batch.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.errors import SingularError
from proveout.network.laws import Array

__all__ = ["Elimination", "Factor"]

Index = npt.NDArray[np.intp]


@dataclass(frozen=True)
class _Step:
    node: int
    neighbours: Index
    edges: Index
    mesh: Index
    first: Index
    second: Index


@dataclass(frozen=True)
class Factor:
    """The eliminated network: per node its conductance sum (batch,) and the shares to its later neighbours (d, batch)."""

    sums: tuple[Array, ...]
    shares: tuple[Array, ...]


class Elimination:
    """The elimination plan of a network of `size` nodes (ground apart) whose conductances lie on `pairs` of nodes."""

    def __init__(self, names: Sequence[str], pairs: Iterable[tuple[int, int]]) -> None:
        self.names = tuple(names)
        self.edge: dict[tuple[int, int], int] = {}
        near: list[set[int]] = [set() for _ in self.names]
        for i, j in pairs:
            self._edge(i, j)
            near[i].add(j)
            near[j].add(i)
        self._steps = tuple(self._eliminate(near))

    def _edge(self, i: int, j: int) -> int:
        return self.edge.setdefault((min(i, j), max(i, j)), len(self.edge))

    def _eliminate(self, near: list[set[int]]) -> Iterable[_Step]:
        left = set(range(len(near)))
        while left:
            node = min(left, key=lambda k: (len(near[k]), k))
            left.remove(node)
            around = sorted(near[node])
            pairs = [(p, q) for p in range(len(around)) for q in range(p + 1, len(around))]
            for k in around:
                near[k].discard(node)
                near[k].update(j for j in around if j != k)
            yield _Step(
                node,
                np.array(around, dtype=np.intp),
                np.array([self._edge(node, k) for k in around], dtype=np.intp),
                np.array([self._edge(around[p], around[q]) for p, q in pairs], dtype=np.intp),
                np.array([p for p, _ in pairs], dtype=np.intp),
                np.array([q for _, q in pairs], dtype=np.intp),
            )

    def factor(self, between: Array, ground: Array) -> Factor:
        """Eliminate all nodes.

        Parameters
        ----------
        between : (edge, batch) float
            Conductances on `self.edge` (those of fill-in zero); overwritten.
        ground : (node, batch) float
            Conductances to ground; overwritten.

        Returns
        -------
        Factor

        Raises
        ------
        SingularError
            If nothing holds a node; the message names it.
        """
        sums, shares = [], []
        for step in self._steps:
            star = between[step.edges]
            total = ground[step.node] + star.sum(axis=0)
            if not np.all(total > 0):
                raise SingularError(
                    f"node '{self.names[step.node]}' is held by nothing: no element and no leakage reaches it from ground; "
                    f"give the circuit a leakage, or connect the node"
                )
            share = star / total
            ground[step.neighbours] += share * ground[step.node]
            if len(step.mesh):
                between[step.mesh] += star[step.first] * share[step.second]
            sums.append(total)
            shares.append(share)
        return Factor(tuple(sums), tuple(shares))

    def solve(self, factor: Factor, injection: Array) -> Array:
        """Return the node efforts (node, ..., batch) for the injected flows of the same shape; `injection` is kept."""
        flow = injection.copy()
        wide = (slice(None),) + (None,) * (injection.ndim - 2)
        for step, share in zip(self._steps, factor.shares, strict=True):
            if len(step.neighbours):
                flow[step.neighbours] += share[wide] * flow[step.node]
        for step, total, share in zip(
            reversed(self._steps), reversed(factor.sums), reversed(factor.shares), strict=True
        ):
            effort = flow[step.node] / total
            for row, neighbour in zip(share, step.neighbours, strict=True):
                effort += row * flow[neighbour]
            flow[step.node] = effort
        return flow
