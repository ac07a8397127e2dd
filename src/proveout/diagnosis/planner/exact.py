"""Exact dynamic programming for small problems.

A situation is fixed by the outcomes seen, the repairs that failed and the set-up; what is open follows from them. All
situations that k steps can reach are merged into one layer, so each is solved once. A step is dropped where its lower
bound reaches the cost of a policy already known there; this never drops the optimum.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.base import worthwhile_tests
from proveout.diagnosis.planner.model import test_costs_beyond_repair
from proveout.diagnosis.planner.tree import Edges, Layer, Tree, Workbench, branch, evaluate, layer_of

__all__ = ["exact_tree", "fits_exactly"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_KEY_BITS = 62
_SLACK = 1e-12


def fits_exactly(bench: Workbench) -> bool:
    """Whether the situations of the model can be numbered in one 64-bit key."""
    return sum(_key_bits(bench)) <= _KEY_BITS


def exact_tree(bench: Workbench, root: Layer, most: int) -> Tree | None:
    """Solve the problem, or return None when more than `most` branches would have to be looked at."""
    if not fits_exactly(bench):
        return None
    layers, steps = [root], list[Edges]()
    keys = np.zeros(1, dtype=np.int64)
    looked_at = 0
    while True:
        source, action = _all_steps(bench, layers[-1])
        looked_at += len(source)
        if looked_at > most:
            return None
        if not len(source):
            return evaluate(layers, steps)
        edges, layer, keys = _next_layer(bench, layers[-1], keys, source, action)
        layers.append(layer)
        steps.append(edges)


def _all_steps(bench: Workbench, layer: Layer) -> tuple[Ints, Ints]:
    """Every test worth its cost and every repair that is neither certain nor excluded, as pairs with the situation."""
    open_nodes = layer.chain - layer.bound > _SLACK * layer.chain
    tests = worthwhile_tests(bench, layer, test_costs_beyond_repair(bench.model, layer.at, layer.chance))
    steps = np.concatenate([tests, (layer.chance > 0.0) & (layer.chance < 1.0)], axis=1)
    source, action = np.nonzero(steps & open_nodes[:, None])
    return source, action


def _next_layer(bench: Workbench, layer: Layer, keys: Ints, source: Ints, action: Ints) -> tuple[Edges, Layer, Ints]:
    edges, after = branch(bench.model, layer, source, action)
    reached = layer_of(bench, after)
    kept = _undominated(layer, edges, reached)
    new_keys = _keys(bench, keys, edges, reached)
    edges = edges.pick(kept)
    numbers, first, inverse = np.unique(new_keys[edges.target], return_index=True, return_inverse=True)
    merged = reached.pick(edges.target[first])
    return replace(edges, target=inverse.astype(np.int64)), merged, numbers


def _undominated(layer: Layer, edges: Edges, reached: Layer) -> NDArray[np.bool_]:
    """Steps whose lower bound stays below the cheapest policy known in their situation."""
    known = layer.chain.copy()
    np.minimum.at(known, edges.source, edges.total(reached.chain))
    return np.asarray(edges.total(reached.bound) < known[edges.source] * (1.0 + _SLACK))


def _key_bits(bench: Workbench) -> tuple[int, int, int]:
    """Bits for the outcomes, the failed repairs, the set-up."""
    tests, _, outcomes = bench.model.joint.shape
    return tests * outcomes.bit_length(), len(bench.model.repairs), (len(bench.model.setup_cost) + 1).bit_length()


def _keys(bench: Workbench, keys: Ints, edges: Edges, reached: Layer) -> Ints:
    """Number the situations reached: what was seen before, this step's outcome, the set-up."""
    tests, _, outcomes = bench.model.joint.shape
    _, repair_bits, setup_bits = _key_bits(bench)
    action = edges.action[edges.edge]
    is_test = action < tests
    shift = np.where(is_test, repair_bits + action * outcomes.bit_length(), action - tests)
    seen = (keys[edges.source[edges.edge]] >> setup_bits) | (np.where(is_test, edges.outcome + 1, 1) << shift)
    return np.asarray((seen << setup_bits) | (reached.at.setup + 1))
