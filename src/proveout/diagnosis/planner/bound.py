"""A cost that no policy can beat: perfect information, strengthened by the price of the information itself.

Perfect information pays, for each particle, its own cure and the access that the cure needs. On top come the own costs
of tests and of repairs that do not cure. Let H be the entropy over repairs, C_t the capacity of test t (the most that
it can tell under any belief), c_t its own cost, c_r a repair's own cost, and p_r its probability. The record of
any policy (outcomes, and which repair cured) determines the repair, so its steps together supply at least H. For a
price lambda > 0 per unit of information:

    a test supplies at most C_t:                lambda C_t <= c_t + max(0, lambda C_t - c_t)                        (1)
    a repair that cures with probability q:     lambda h(q) <= (1 - q) c_r + q v_r  for every q                     (2)
                                                if and only if exp(-c_r / lambda) + exp(-v_r / lambda) <= 1

(2) is the conjugate pair of entropy and log-sum-exp. Each repair cures with total probability p_r, so

    extra >= lambda H + lambda sum_r p_r log(1 - exp(-c_r / lambda)) - sum_t max(0, lambda C_t - c_t)               (3)

for every lambda; the largest over a grid is kept. With equal costs and no tests this bounds the expected number of
guesses by entropy, as Massey (1994, "Guessing and entropy") does. Shared access
is never charged twice: (3) holds own costs only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.information import entropy
from proveout.diagnosis.planner.model import Beliefs, PlanningModel, repair_costs

__all__ = ["BoundTable", "bound_table", "capacity_bound", "perfect_information", "price_of_information"]

Floats = NDArray[np.float64]

_PRICES = 24
_SHARPENINGS = 3
_TINY = np.float32(1e-30)
# Single precision is enough for a bound once its rounding is added on the safe side.
_ROUNDING = 1e-5
_LARGE = 100_000


@dataclass(frozen=True, eq=False)
class BoundTable:
    """What the bound needs: prices (M,), the repairs' terms (R, M), the tests' terms (T, M), cheapest cure (F,)."""

    price: Floats
    repair_term: Floats
    test_term: Floats
    by_test: Floats | None


def capacity_bound(joint: Floats) -> Floats:
    """(T,) float [nat], an upper bound on the capacity of each test between particles and outcomes.

    Capacity is at most log sum_o max_f P(o | f) (Sibson, 1969, "Information radius", order infinity), which alone
    serves large tables. It is also at most max_f D(P(o | f) || q) for any distribution q over outcomes (Blahut, 1972,
    "Computation of channel capacity"); a few of his steps bring q near the best one.

    Parameters
    ----------
    joint : (T, F, O) float
        P(outcome | particle); what is missing to 1 counts as one outcome more.
    """
    rest = np.maximum(1.0 - joint.sum(axis=2, keepdims=True), 0.0)
    table = np.concatenate([joint, rest], axis=2) if rest.max(initial=0.0) > 1e-9 else joint
    best = np.log(np.maximum(table.max(axis=1, initial=0.0).sum(axis=1), 1.0))
    if table.size > _LARGE:
        return np.asarray(best)
    return _by_divergence(table.astype(np.float32), best) * (1.0 + _ROUNDING)


def _by_divergence(table: NDArray[np.float32], best: Floats) -> Floats:
    own = (table * np.log(np.maximum(table, _TINY))).sum(axis=2)
    weight = np.full(table.shape[:2], 1.0 / table.shape[1], dtype=np.float32)
    for _ in range(_SHARPENINGS):
        mix = np.matmul(weight[:, None, :], table)
        divergence = own - np.matmul(table, np.log(np.maximum(mix, _TINY)).transpose(0, 2, 1))[:, :, 0]
        best = np.minimum(best, divergence.max(axis=1))
        weight = weight * np.exp(divergence - divergence.max(axis=1, keepdims=True))
        weight /= weight.sum(axis=1, keepdims=True)
    return np.asarray(np.maximum(best, 0.0))


def bound_table(model: PlanningModel) -> BoundTable:
    """Prepare the bound of (3) for every situation of the model."""
    scale = np.concatenate([model.repair_cost, model.test_cost])
    scale = scale[scale > 0.0]
    low, high = (scale.min(), scale.max()) if scale.size else (1.0, 1.0)
    price = np.geomspace(low / 8.0, high * 4.0, _PRICES)
    repair_term = price * np.log(np.maximum(-np.expm1(-model.repair_cost[:, None] / price), 1e-300))
    charged, capacity, by_test = model.test_cost, capacity_bound(model.joint), None
    if model.cures is not None:
        charged, capacity, by_test = _with_cures(model, model.cures, capacity)
    test_term = np.maximum(price * capacity[:, None] - charged[:, None], 0.0)
    return BoundTable(price, repair_term, test_term, by_test)


def perfect_information(model: PlanningModel, table: BoundTable, at: Beliefs, chance: Floats) -> Floats:
    """(N,) float, expected cost where the fault is known: its own cure and the access for it.

    Parameters
    ----------
    chance : (N, R) float
        Probability of each repair.
    """
    cost = repair_costs(model, at.opened)
    if table.by_test is None:
        return np.asarray((chance * cost).sum(axis=1))
    return np.asarray((at.belief * np.minimum(cost[:, model.repair_of], table.by_test)).sum(axis=1))


def price_of_information(table: BoundTable, at: Beliefs, chance: Floats) -> Floats:
    """(N,) float, own costs of tests and vain repairs that no policy can avoid, by (3)."""
    supplied = entropy(chance)[:, None] * table.price + chance @ table.repair_term
    return np.maximum((supplied - ~at.taken @ table.test_term).max(axis=1), 0.0)


def _with_cures(model: PlanningModel, cures: Floats, capacity: Floats) -> tuple[Floats, Floats, Floats]:
    """Charge nothing for a curing test, count what it leaves open, and find the cheapest cure of each particle.

    A particle's cure may be the test itself: repeated until it cures it would cost c / q and then the cost of the cure,
    which is less than any real plan pays for it. Its own cost is then part of perfect information, so (3) must not
    charge it again; and a cure leaves open which of the repairs it stands for.
    """
    curing = cures.any(axis=1)
    stands_for = (np.add.reduceat(cures, model.starts, axis=1) > 0.0).sum(axis=1)
    with np.errstate(divide="ignore"):
        attempts = np.where(cures > 0.0, 1.0 / cures, np.inf)
    price = np.where(cures > 0.0, model.test_cost[:, None] * np.minimum(attempts, 1e12), np.inf)
    by_test = (price + model.cure_cost[:, None]).min(axis=0, initial=np.inf)
    charged = np.where(curing, 0.0, model.test_cost)
    return charged, capacity + np.log(np.maximum(stands_for, 1)), by_test
