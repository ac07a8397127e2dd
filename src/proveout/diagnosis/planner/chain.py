"""Repairing without another test: the suspects one after another, by descending probability over cost.

For repairs of independent cost this order is optimal (Kadane and Simon, 1977, "Optimal strategies for a class of
constrained sequential problems"); with shared access it is a good order, and its cost is always an upper bound.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.model import Beliefs, PlanningModel, repair_costs

__all__ = ["chain_cost", "chain_order", "order_cost"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_LEAST_COST = 1e-12


def chain_order(chance: Floats, cost: Floats) -> Ints:
    """(..., R) int, repairs by descending chance over cost.

    Parameters
    ----------
    chance, cost : (..., R) float
        Probability that the repair cures, and what it costs from here.
    """
    return np.argsort(-chance / np.maximum(cost, _LEAST_COST), axis=-1, kind="stable")


def order_cost(order: Ints, chance: Floats, own: Floats, access: NDArray[np.bool_], closed_cost: Floats) -> Floats:
    """(N,) float, expected cost of the repairs in the given order up to the one that cures.

    Parameters
    ----------
    order : (N, R) int
    chance : (N, R) float
        Probability that each repair cures; its sum is the probability that the chain is entered at all.
    own : (R,) float
        Cost of each repair without access.
    access : (R, A) bool
    closed_cost : (N, A) float
        Cost of each access operation, 0 where it is open.
    """
    sorted_chance = np.take_along_axis(chance, order, axis=1)
    reached_sorted = np.cumsum(sorted_chance[:, ::-1], axis=1)[:, ::-1]
    reached = np.empty_like(reached_sorted)
    np.put_along_axis(reached, order, reached_sorted, axis=1)
    total = reached @ own
    for a in np.flatnonzero(access.any(axis=0)):
        # `reached` falls along the order, so the first repair that needs the access has the largest.
        total += closed_cost[:, a] * reached[:, access[:, a]].max(axis=1)
    return np.asarray(total)


def chain_cost(model: PlanningModel, at: Beliefs, chance: Floats) -> Floats:
    """(N,) float, expected cost of repairing from each situation without another test.

    Parameters
    ----------
    chance : (N, R) float
        Probability of each repair.
    """
    order = chain_order(chance, repair_costs(model, at.opened))
    return order_cost(order, chance, model.repair_cost, model.repair_access, ~at.opened * model.access_cost)
