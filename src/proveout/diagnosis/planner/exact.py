"""Exact dynamic programming for small problems.

A situation is fixed by the outcomes seen, the repairs that failed and the set-up; what is open follows from them. All
situations that k steps can reach are merged into one layer, so each is solved once. Each carries the most that it may
cost as part of an optimal policy: with U at a situation, a step of lower bound L, and a branch of probability w to a
situation of lower bound b, the branch may cost

    b + (U - L) / w                                                                                                 (1)

since the other branches cost at least their bounds. A step with L above U is dropped; this never drops the optimum.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

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


@dataclass(frozen=True, eq=False)
class _Frontier:
    """The situations of one depth with their keys (N,) and the most that each may cost (N,)."""

    layer: Layer
    keys: Ints
    most: Floats


def exact_tree(bench: Workbench, root: Layer, upper: float, branches: int) -> Tree | None:
    """Solve the problem, or return None when more than `branches` steps would have to be looked at.

    Parameters
    ----------
    upper : float
        Cost of a policy already known; the lower, the fewer steps have to be looked at.
    """
    if not fits_exactly(bench):
        return None
    layers, steps, looked_at = [root], list[Edges](), 0
    here = _Frontier(root, np.zeros(1, dtype=np.int64), np.array([upper]))
    while True:
        source, action = _all_steps(bench, here.layer)
        looked_at += len(source)
        if looked_at > branches:
            return None
        if not len(source):
            return evaluate(layers, steps)
        edges, here = _next(bench, here, source, action)
        layers.append(here.layer)
        steps.append(edges)


def _all_steps(bench: Workbench, layer: Layer) -> tuple[Ints, Ints]:
    """Every test worth its cost and every repair that is neither certain nor excluded, as pairs with the situation."""
    open_nodes = layer.chain - layer.bound > _SLACK * layer.chain
    tests = worthwhile_tests(bench, layer, test_costs_beyond_repair(bench.model, layer.at, layer.chance))
    steps = np.concatenate([tests, (layer.chance > 0.0) & (layer.chance < 1.0)], axis=1)
    source, action = np.nonzero(steps & open_nodes[:, None])
    return source, action


def _next(bench: Workbench, here: _Frontier, source: Ints, action: Ints) -> tuple[Edges, _Frontier]:
    edges, after = branch(bench.model, here.layer, source, action)
    reached = layer_of(bench, after)
    least, most = edges.total(reached.bound), _most(here, edges, reached)
    edges_kept = least <= most[source] * (1.0 + _SLACK)
    keys = _keys(bench, here.keys, edges, reached)
    allowed = reached.bound + (most[source] - least)[edges.edge] / edges.weight  # (1)
    kept = edges.pick(edges_kept)
    numbers, first, inverse = np.unique(keys[kept.target], return_index=True, return_inverse=True)
    largest = np.zeros(len(numbers))
    np.maximum.at(largest, inverse, allowed[kept.target])
    merged = reached.pick(kept.target[first])
    following = _Frontier(merged, numbers, np.minimum(largest, merged.chain))
    return replace(kept, target=inverse.astype(np.int64)), following


def _most(here: _Frontier, edges: Edges, reached: Layer) -> Floats:
    """(N,) float, the most that each situation may cost: as allowed from above, or by a policy one step deep."""
    most = np.minimum(here.most, here.layer.chain)
    np.minimum.at(most, edges.source, edges.total(reached.chain))
    return most


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
