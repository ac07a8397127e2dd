"""Rollout: try each promising step, follow the base policy after it, keep the step that turns out cheapest.

Tu and Pattipati (2003), "Rollout strategies for sequential fault diagnosis". Widths (20, 1) are the one-step rollout of
the base policy, (20, 4, 1) the two-step one; all situations of one depth are handled in one batch.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.base import step_index
from proveout.diagnosis.planner.tree import Edges, Layer, Tree, Workbench, branch, evaluate, layer_of

__all__ = ["Effort", "rollout"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Effort:
    """How far the search goes.

    Parameters
    ----------
    widths : tuple of int
        Steps tried at each depth; the last holds for all deeper ones.
    beam : int
        Situations followed at each depth, by what testing could still save there; the others repair in order.
    depth : int
        Steps looked ahead at most.
    """

    widths: tuple[int, ...] = (20, 1)
    beam: int = 512
    depth: int = 24


def rollout(bench: Workbench, root: Layer, effort: Effort) -> Tree:
    """Grow the sparse tree and value it.

    Parameters
    ----------
    root : Layer
        One situation.
    """
    layers, steps = [root], list[Edges]()
    reach = np.ones(1)
    while len(steps) < effort.depth:
        width = effort.widths[min(len(steps), len(effort.widths) - 1)]
        open_nodes = _worth_following(layers[-1], reach, effort.beam)
        source, action = _candidates(bench, layers[-1], open_nodes, width)
        if not len(source):
            break
        edges, after = branch(bench.model, layers[-1], source, action)
        layers.append(layer_of(bench, after))
        steps.append(edges)
        reach = edges.weight * reach[edges.source[edges.edge]]
    return evaluate(layers, steps)


def _worth_following(layer: Layer, reach: Floats, beam: int) -> Ints:
    saving = reach * (layer.chain - layer.bound)
    rows = np.flatnonzero(saving > 1e-9 * layer.chain.max())
    if len(rows) > beam:
        rows = rows[np.argpartition(-saving[rows], beam)[:beam]]
    return np.sort(rows)


def _candidates(bench: Workbench, layer: Layer, rows: Ints, width: int) -> tuple[Ints, Ints]:
    """The `width` steps of highest index in each situation, as pairs of situation and step."""
    if not len(rows):
        return rows, rows
    index, _ = step_index(bench, layer.pick(rows))
    width = min(width, index.shape[1])
    best = np.argpartition(-index, width - 1, axis=1)[:, :width] if width > 1 else index.argmax(axis=1)[:, None]
    ok = np.take_along_axis(index, best, axis=1) > -np.inf
    return np.repeat(rows, ok.sum(axis=1)), best[ok].astype(np.int64)
