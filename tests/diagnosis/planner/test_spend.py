"""What following a policy costs, against simulation of single cases by a seeded generator."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from diagnosis.planner.drawn import drawn_problem
from proveout.diagnosis.planner import (
    Action,
    DecisionProblem,
    after_outcome,
    after_repair,
    chance_within,
    expected_cost,
    marginal_cost,
    plan,
    planned_spend,
    repair_in_order,
    spend_of,
)
from proveout.errors import InputError

CASES = 1500


def rolled(problem: DecisionProblem) -> Action:
    return plan(problem, exact_branches=0).action


class Remembered:
    """A policy asked once per situation, so that thousands of simulated cases stay quick."""

    def __init__(self) -> None:
        self.actions: dict[bytes, Action] = {}

    def __call__(self, problem: DecisionProblem) -> Action:
        key = np.round(problem.prior, 9).tobytes() + problem.untaken.tobytes() + bytes([problem.setup + 1])
        if key not in self.actions:
            self.actions[key] = rolled(problem)
        return self.actions[key]


def simulated_cost(problem: DecisionProblem, policy: Remembered, rng: np.random.Generator) -> float:
    """Draw a fault, then an outcome for each test taken, until a repair or a test cures; return what was spent."""
    fault, cost = int(rng.choice(len(problem.prior), p=problem.prior)), 0.0
    while True:
        action = policy(problem)
        cost += marginal_cost(problem, action)
        if action.kind == "repair":
            if problem.repair_of[fault] == action.index:
                return cost
            problem = after_repair(problem, action.index)
            continue
        cured = 0.0 if problem.cures is None else float(problem.cures[action.index, fault])
        if problem.cure_cost is not None and rng.random() < cured:
            return cost + float(problem.cure_cost[action.index])
        chances = problem.likelihood[action.index, fault]
        problem = after_outcome(problem, action.index, int(rng.choice(len(chances), p=chances / chances.sum())))


@pytest.mark.parametrize(("seed", "cures"), [(0, False), (1, True)])
def test_expected_cost_and_chance_within_a_budget_agree_with_simulated_cases(seed: int, cures: bool) -> None:
    problem = drawn_problem(np.random.default_rng(seed), particles=6, repairs=4, tests=4, cures=cures)
    policy, rng = Remembered(), np.random.default_rng(100 + seed)
    costs = np.array([simulated_cost(problem, policy, rng) for _ in range(CASES)])
    error = costs.std() / np.sqrt(CASES)
    assert expected_cost(problem, policy) == pytest.approx(costs.mean(), abs=4.0 * error)
    for limit in np.quantile(costs, [0.2, 0.5, 0.8]).tolist():
        share = float((costs <= limit + 1e-9).mean())
        error = float(np.sqrt(share * (1.0 - share) / CASES))
        assert chance_within(problem, policy, limit) == pytest.approx(share, abs=4.0 * error)


def test_all_endings_together_are_certain() -> None:
    spend = spend_of(drawn_problem(np.random.default_rng(3), tests=4), rolled)
    assert spend.chance.sum() == pytest.approx(1.0, abs=1e-9)
    assert (np.diff(spend.cost) > 0.0).all()


def test_minutes_are_counted_beside_the_money_that_decides() -> None:
    # With every cost doubled in the other unit, half the limit there is the same limit here.
    problem = drawn_problem(np.random.default_rng(4), particles=6, repairs=4, tests=4)
    names = ("test_cost", "setup_cost", "access_cost", "repair_cost")
    minutes = replace(problem, **{name: getattr(problem, name) * 2.0 for name in names})
    money, counted = spend_of(problem, rolled), spend_of(problem, rolled, meter=minutes)
    assert counted.mean == pytest.approx(2.0 * money.mean)
    limit = float(np.median(money.cost))
    assert chance_within(problem, rolled, 2.0 * limit, meter=minutes) == pytest.approx(money.within(limit))


def test_repairing_unlikely_branches_in_order_only_adds_cost() -> None:
    problem = drawn_problem(np.random.default_rng(2), particles=6, repairs=4, tests=4)

    def best(here: DecisionProblem) -> Action:
        return plan(here, exact_branches=10**8).action

    full = expected_cost(problem, best)
    assert full - 1e-9 <= expected_cost(problem, best, smallest_branch=0.05) <= 1.05 * full
    assert expected_cost(problem, best, smallest_branch=2.0) == pytest.approx(expected_cost(problem, repair_in_order))


def test_a_policy_that_repeats_a_test_is_refused() -> None:
    problem = drawn_problem(np.random.default_rng(2), tests=4)
    with pytest.raises(InputError, match="taken already"):
        spend_of(problem, lambda _: Action("test", 0))


def test_a_policy_that_repeats_a_vain_repair_is_refused() -> None:
    problem = drawn_problem(np.random.default_rng(2), tests=4)
    with pytest.raises(InputError, match="cures nothing that is still possible"):
        spend_of(problem, lambda _: Action("repair", 0))


@pytest.mark.parametrize("seed", range(6))
def test_spend_read_off_the_plan_has_the_mean_that_the_plan_promised(seed: int) -> None:
    problem = drawn_problem(np.random.default_rng(seed), tests=5, cures=seed % 2 == 1)
    spend = planned_spend(problem)
    assert spend.chance.sum() == pytest.approx(1.0, abs=1e-9)
    assert spend.mean == pytest.approx(plan(problem, exact_branches=0).upper, rel=1e-9)


@pytest.mark.parametrize("seed", [0, 1, 3])
def test_spend_read_off_the_plan_agrees_with_following_it(seed: int) -> None:
    # Planning anew after each outcome may find a slightly better end, so the chances differ by little.
    problem = drawn_problem(np.random.default_rng(seed), particles=6, repairs=4, tests=4, cures=seed == 1)
    followed, read = spend_of(problem, rolled), planned_spend(problem)
    for limit in (np.quantile(followed.cost, [0.1, 0.3, 0.5, 0.7]) + 1e-6).tolist():
        assert read.within(limit) == pytest.approx(followed.within(limit), abs=0.02)


def test_spend_read_off_the_plan_counts_minutes_too() -> None:
    problem = drawn_problem(np.random.default_rng(4), tests=5)
    names = ("test_cost", "setup_cost", "access_cost", "repair_cost")
    minutes = replace(problem, **{name: getattr(problem, name) * 2.0 for name in names})
    np.testing.assert_allclose(planned_spend(problem, meter=minutes).cost, 2.0 * planned_spend(problem).cost)
