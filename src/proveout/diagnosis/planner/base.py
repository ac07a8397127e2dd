"""Base policy: the step with the most information for its cost.

Information per marginal cost over repairs: Pattipati and Alexandridis (1990), "Application of heuristic search and
information theory to sequential fault diagnosis". A repair is a test too: it tells whether it was the one, and costs
extra only when it was not, so its index is h(p) / ((1 - p) cost). Whether to test at all is decided from the leaves
back, where every situation may stop and repair in order.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.information import binary_entropy, test_information
from proveout.diagnosis.planner.model import repair_costs, test_costs_beyond_repair
from proveout.diagnosis.planner.tree import Layer, Workbench

__all__ = ["step_index", "worthwhile_tests"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_LEAST_COST = 1e-9
_LEAST_INFORMATION = 1e-6
_CERTAIN = 1.0 - 1e-9


def worthwhile_tests(layer: Layer, beyond: Floats) -> Bools:
    """(N, T) bool, tests not taken that cost less than even perfect information could save.

    Parameters
    ----------
    beyond : (N, T) float
        Cost of each test beyond what the repair will cost anyway.
    """
    return np.asarray(~layer.at.taken & (beyond < (layer.chain - layer.perfect)[:, None]))


def step_index(bench: Workbench, layer: Layer) -> tuple[Floats, Floats]:
    """Index of each step, and its information [nat], in each of N situations.

    Returns
    -------
    index : (N, T + R) float
        Information per marginal cost, tests first; -inf for a step that is not worth considering.
    information : (N, T + R) float [nat]
    """
    cost = test_costs_beyond_repair(bench.model, layer.at, layer.chance)
    information = test_information(bench.information, layer.at.belief, layer.chance)
    allowed = worthwhile_tests(layer, cost) & (information > _LEAST_INFORMATION)
    by_test = np.where(allowed, information / np.maximum(cost, _LEAST_COST), -np.inf)
    told = binary_entropy(layer.chance)
    wasted = (1.0 - layer.chance) * repair_costs(bench.model, layer.at.opened)
    possible = (layer.chance > 0.0) & (layer.chance < _CERTAIN)
    by_repair = np.where(possible, told / np.maximum(wasted, _LEAST_COST), -np.inf)
    return np.concatenate([by_test, by_repair], axis=1), np.concatenate([information, told], axis=1)
