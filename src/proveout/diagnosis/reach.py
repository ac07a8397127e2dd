"""Which parts lie between two points: those on some path from the one to the other through what conducts."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.circuits.assemble import Assembly
from proveout.network import PartState

__all__ = ["parts_between"]

Edge = tuple[str, str, str]


def parts_between(
    assembly: Assembly, states: Sequence[PartState], red: str, black: str, *, bridges: bool = False
) -> frozenset[str]:
    """Return the names of the parts on any simple path between two nodes.

    Absent parts do not conduct here, insulation only with `bridges` (as if all of it were bridged). A part is on a
    simple path exactly when it lies in the same two-connected block as an edge added from `red` to `black` (Tarjan
    1972), so one depth-first search settles all.
    """
    edges = [
        (a, b, part.name)
        for part, state in zip(assembly.netlist.parts, states, strict=True)
        if state.present and (bridges or part.name not in assembly.circuit.bridges)
        for a, b in _ends(part.nodes)
    ]
    return frozenset(_block_of(edges, red, black))


def _ends(nodes: Sequence[str]) -> list[tuple[str, str]]:
    """Return edges that keep a part's terminals together: a star around its first terminal, or all pairs of three."""
    return [(a, b) for k, a in enumerate(nodes) for b in nodes[k + 1 :] if a != b]


def _block_of(edges: Sequence[Edge], red: str, black: str) -> set[str]:
    wanted = (red, black, "")
    near: dict[str, list[tuple[str, int]]] = {}
    every = [wanted, *edges]
    for k, (a, b, _) in enumerate(every):
        near.setdefault(a, []).append((b, k))
        near.setdefault(b, []).append((a, k))
    order: dict[str, int] = {red: 0}
    low: dict[str, int] = {red: 0}
    stack: list[int] = []
    work = [(red, -1, iter(near[red]))]
    while work:
        node, arrived, rest = work[-1]
        step = next(rest, None)
        if step is None:
            work.pop()
            if not work:
                break
            parent = work[-1][0]
            low[parent] = min(low[parent], low[node])
            if low[node] >= order[parent]:
                block = stack[stack.index(arrived) :]
                del stack[stack.index(arrived) :]
                if 0 in block:
                    return {every[k][2] for k in block} - {""}
            continue
        other, edge = step
        if edge == arrived:
            continue
        if other not in order:
            stack.append(edge)
            order[other] = low[other] = len(order)
            work.append((other, edge, iter(near[other])))
        elif order[other] < order[node]:
            stack.append(edge)
            low[node] = min(low[node], order[other])
    return set()
