"""Repairing in order: costs by hand, and the proven optimum for independent repairs."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from proveout.diagnosis.repair_chain import MINUTES, MONEY, RepairPrices, chain
from proveout.network.laws import Array


def prices(
    minutes: list[float], access: list[list[bool]] | None = None, opening: list[float] | None = None, wrong: float = 0.0
) -> RepairPrices:
    """Repairs of a shop that takes one unit of money a minute; the last stands for 'none of these'."""
    count = len(minutes)
    opening = opening or []
    needs = np.array(access or [[]] * count, dtype=bool).reshape(count, len(opening))
    names = tuple(f"cover {k}" for k in range(len(opening)))
    return RepairPrices(np.array(minutes), np.zeros(count), needs, np.array(opening), names, 1.0, wrong, count - 1)


def expected(chances: list[float], spent: Array) -> float:
    return float(np.array(chances) @ spent[MONEY])


def test_three_repairs_come_by_descending_probability_over_cost() -> None:
    # By hand: b, a, c cost 1 + 0.75 * 4 + 0.20 * 6 = 5.20, the least of all six orders (Kadane and Simon, 1977).
    chances = [0.55, 0.25, 0.20, 0.0]
    order, spent = chain(prices([4.0, 1.0, 6.0, 50.0]), np.array(chances), frozenset())
    assert order[:3] == [1, 0, 2]
    assert expected(chances, spent) == pytest.approx(5.20, abs=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_no_other_order_of_independent_repairs_is_cheaper(seed: int) -> None:
    rng = np.random.default_rng(seed)
    minutes, chances = rng.uniform(1.0, 40.0, 5), rng.dirichlet(np.ones(5))
    _, spent = chain(prices([*minutes, 90.0]), np.array([*chances, 0.0]), frozenset())
    every = [
        sum(chances[k] * minutes[list(order[: n + 1])].sum() for n, k in enumerate(order))
        for order in permutations(range(5))
    ]
    assert expected([*chances, 0.0], spent) == pytest.approx(min(every), rel=1e-12)


def test_access_that_an_earlier_repair_opened_is_not_paid_again() -> None:
    cover = [[True], [True], [False], [False]]
    closed = chain(prices([10.0, 10.0, 10.0, 50.0], cover, [30.0]), np.array([0.6, 0.3, 0.1, 0.0]), frozenset())
    opened = chain(prices([10.0, 10.0, 10.0, 50.0], cover, [30.0]), np.array([0.6, 0.3, 0.1, 0.0]), {"cover 0"})
    # Closed: 0.6 over 40 leads, then 0.3 over 10, then 0.1 over 10: 40, 50, 60 minutes; open: 10, 20, 30.
    assert closed[1][MINUTES, :3].tolist() == [40.0, 50.0, 60.0]
    assert opened[1][MINUTES, :3].tolist() == [10.0, 20.0, 30.0]


def test_each_wrong_repair_costs_its_price_in_money_and_no_minutes() -> None:
    _, spent = chain(prices([10.0, 10.0, 50.0], wrong=150.0), np.array([0.9, 0.1, 0.0]), frozenset())
    assert spent[MONEY, :2].tolist() == [10.0, 170.0]
    assert spent[MINUTES, :2].tolist() == [10.0, 20.0]


def test_a_chart_that_names_the_wrong_repair_pays_it_first() -> None:
    order, spent = chain(prices([10.0, 20.0, 50.0]), np.array([0.9, 0.1, 0.0]), frozenset(), first=1)
    assert order == [1, 0, 2]
    assert spent[MINUTES].tolist() == [30.0, 20.0, 80.0]
