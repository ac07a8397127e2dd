"""Repairs without tests: descending probability over cost (Kadane and Simon, 1977)."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from proveout.diagnosis.planner import Action, DecisionProblem, expected_cost, plan, repair_in_order, spend_of
from proveout.diagnosis.planner.chain import order_cost


def only_repairs(chance: list[float], cost: list[float]) -> DecisionProblem:
    count = len(chance)
    return DecisionProblem(
        prior=np.array(chance),
        repair_of=np.arange(count),
        likelihood=np.zeros((0, count, 1)),
        test_cost=np.zeros(0),
        test_access=np.zeros((0, 0), dtype=bool),
        test_setup=np.zeros(0, dtype=np.int64),
        setup_cost=np.zeros(0),
        setup=-1,
        access_cost=np.zeros(0),
        opened=np.zeros(0, dtype=bool),
        repair_cost=np.array(cost),
        repair_access=np.zeros((count, 0), dtype=bool),
    )


THREE = only_repairs([0.55, 0.25, 0.20], [4.0, 1.0, 6.0])


@pytest.mark.parametrize(
    ("order", "cost"),
    [("bac", 5.20), ("abc", 5.65), ("acb", 6.95), ("bca", 7.70), ("cba", 9.00), ("cab", 9.45)],
)
def test_each_order_of_three_repairs_costs_what_hand_reckoning_gives(order: str, cost: float) -> None:
    # By hand, e.g. b a c: 1 + 0.75 * 4 + 0.20 * 6 = 5.20.
    sequence = np.array([["abc".index(name) for name in order]])
    no_access = np.zeros((3, 0), dtype=bool)
    found = order_cost(sequence, THREE.prior[None], THREE.repair_cost, no_access, np.zeros((1, 0)))
    assert found[0] == pytest.approx(cost, abs=1e-12)


@pytest.mark.parametrize("exact_branches", [0, 3000])
def test_three_repairs_are_planned_in_the_proven_order(exact_branches: int) -> None:
    # Descending p/c: b 0.25, a 0.1375, c 0.0333; its cost 5.20 is the least of all six.
    found = plan(THREE, exact_branches=exact_branches)
    assert found.action == Action("repair", 1)
    assert found.expected_cost == pytest.approx(5.20, abs=1e-9)
    assert expected_cost(THREE, lambda p: plan(p, exact_branches=exact_branches).action) == pytest.approx(
        5.20, abs=1e-9
    )


@pytest.mark.parametrize("seed", range(25))
def test_independent_repairs_by_descending_chance_over_cost_beat_every_permutation(seed: int) -> None:
    # Kadane and Simon (1977); every order of five repairs is reckoned here by hand.
    rng = np.random.default_rng(seed)
    chance, cost = rng.dirichlet(np.ones(5)), rng.uniform(1.0, 100.0, 5)
    least = min(
        sum(cost[r] * (1.0 - sum(chance[list(order[:k])])) for k, r in enumerate(order))
        for order in permutations(range(5))
    )
    problem = only_repairs(chance.tolist(), cost.tolist())
    assert expected_cost(problem, repair_in_order) == pytest.approx(least, rel=1e-9)
    for exact_branches in (0, 3000):
        found = plan(problem, exact_branches=exact_branches)
        assert found.expected_cost == pytest.approx(least, rel=1e-9)
        assert found.action == repair_in_order(problem)


def test_the_last_suspect_is_repaired_without_another_thought() -> None:
    found = plan(only_repairs([0.0, 1.0, 0.0], [4.0, 7.0, 1.0]))
    assert found.action == Action("repair", 1)
    assert found.lower == found.upper == found.expected_cost == 7.0


def test_spend_of_repairs_in_order_is_the_running_total() -> None:
    # b, a, c cost 1, 1 + 4, 1 + 4 + 6 with chances 0.25, 0.55, 0.20: by hand.
    spend = spend_of(THREE, repair_in_order)
    np.testing.assert_allclose(spend.cost, [1.0, 5.0, 11.0])
    np.testing.assert_allclose(spend.chance, [0.25, 0.55, 0.20])
    assert [spend.within(limit) for limit in (0.5, 1.0, 5.0, 11.0)] == pytest.approx([0.0, 0.25, 0.80, 1.0])
