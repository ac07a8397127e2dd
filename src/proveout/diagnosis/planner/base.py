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
_FIRST = 1e9
_CERTAIN = 1.0 - 1e-9


def worthwhile_tests(bench: Workbench, layer: Layer, beyond: Floats) -> Bools:
    """(N, T) bool, tests not taken that cost less than even perfect information could save.

    A test that may cure is always worth a look, since its own cost may be what perfect information would pay.

    Parameters
    ----------
    beyond : (N, T) float
        Cost of each test beyond what the repair will cost anyway.
    """
    paying = beyond < (layer.chain - layer.perfect)[:, None]
    if bench.model.cures is not None:
        paying |= bench.model.cures.any(axis=1)
    return np.asarray(~layer.at.taken & paying)


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
    worthwhile = worthwhile_tests(bench, layer, cost)
    cost = cost - _saved_by_cures(bench, layer)
    allowed = worthwhile & ((information > _LEAST_INFORMATION) | (cost < 0.0))
    # A test that saves more by its cures than it costs comes first, the one that saves most before the others.
    index = np.where(cost < 0.0, _FIRST - cost, information / np.maximum(cost, _LEAST_COST))
    by_test = np.where(allowed, index, -np.inf)
    told = binary_entropy(layer.chance)
    wasted = (1.0 - layer.chance) * repair_costs(bench.model, layer.at.opened)
    possible = (layer.chance > 0.0) & (layer.chance < _CERTAIN)
    by_repair = np.where(possible, told / np.maximum(wasted, _LEAST_COST), -np.inf)
    return np.concatenate([by_test, by_repair], axis=1), np.concatenate([information, told], axis=1)


def _saved_by_cures(bench: Workbench, layer: Layer) -> Floats:
    """(N, T) float, repair cost that each test is expected to save by curing, less what the cure costs."""
    model = bench.model
    if model.cures is None:
        return np.zeros((1, len(model.tests)))
    repair = repair_costs(model, layer.at.opened)[:, model.repair_of]
    return np.asarray((layer.at.belief * repair) @ model.cures.T - (layer.at.belief @ model.cures.T) * model.cure_cost)
