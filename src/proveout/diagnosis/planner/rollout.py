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
    situations : int
        Situations followed in all; each depth may use a third of those left, by what testing could still save there.
        The others repair in order.
    negligible : float
        Part of the cost of repairing in order below which a possible saving is not followed.
    share : float
        Where situations not followed are put between their lower bound (0) and repairing in order (1). Only at 1 is the
        value of every step the cost of a policy; where few can be followed, less compares the steps more fairly.
    """

    widths: tuple[int, ...] = (20, 1)
    situations: int = 3000
    negligible: float = 1e-5
    share: float = 1.0


def rollout(bench: Workbench, root: Layer, effort: Effort) -> Tree:
    """Grow the sparse tree from one situation and value it."""
    layers, steps = _grow(bench, root, effort)
    return evaluate(layers, steps, effort.share)


def _grow(bench: Workbench, root: Layer, effort: Effort) -> tuple[list[Layer], list[Edges]]:
    """Layers and the steps between them."""
    layers, steps = [root], list[Edges]()
    reach, left = np.ones(1), effort.situations
    while True:
        width = effort.widths[min(len(steps), len(effort.widths) - 1)]
        open_nodes = _worth_following(layers[-1], root, reach, max(1, left // 3), effort.negligible)
        source, action = _candidates(bench, layers[-1], open_nodes, width)
        if not len(source):
            return layers, steps
        left -= len(open_nodes)
        edges, after = branch(bench.model, layers[-1], source, action)
        layers.append(layer_of(bench, after))
        steps.append(edges)
        reach = edges.weight * reach[edges.source[edges.edge]]


def _worth_following(layer: Layer, root: Layer, reach: Floats, beam: int, negligible: float) -> Ints:
    saving = reach * (layer.chain - layer.bound)
    rows = np.flatnonzero(saving > negligible * root.chain[0])
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
