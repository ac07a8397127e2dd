"""The planner against the exact optimum of a plainly written backward induction (reference.py)."""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis.planner.drawn import drawn_problem
from diagnosis.planner.reference import optimum
from proveout.diagnosis.planner import DecisionProblem, Plan, expected_cost, plan

UNLIMITED = 10**8


def compare(problem: DecisionProblem) -> tuple[float, float]:
    """Check one problem against the reference; return the ratio of the rollout's cost and of its lower bound."""
    least = optimum(problem)
    solved, rolled = plan(problem, exact_branches=UNLIMITED), plan(problem, exact_branches=0)
    assert solved.exact
    assert solved.expected_cost == pytest.approx(least, rel=1e-9)
    assert solved.lower == pytest.approx(least, rel=1e-9)
    assert rolled.lower <= least * (1.0 + 1e-9)
    assert rolled.upper >= least * (1.0 - 1e-9)
    return rolled.upper / least, rolled.lower / least


@pytest.mark.parametrize("cures", [False, True])
def test_exact_plan_equals_the_optimum_and_the_bounds_enclose_it(cures: bool) -> None:
    # 40 problems of 10 particles, 5 repairs, 4 or 5 tests, 4 shared access operations; seeds 0 to 39.
    tests = 4 if cures else 5
    drawn = [drawn_problem(np.random.default_rng(seed), repairs=5, tests=tests, cures=cures) for seed in range(40)]
    ratios = np.array([compare(problem) for problem in drawn])
    assert ratios[:, 0].mean() <= 1.02
    assert ratios[:, 1].min() > 0.0


@pytest.mark.slow
def test_exact_plan_equals_the_optimum_on_two_hundred_problems_of_seven_tests() -> None:
    # Seeds 1000 to 1199.
    ratios = [compare(drawn_problem(np.random.default_rng(1000 + seed), tests=7)) for seed in range(200)]
    rolled = np.array([ratio for ratio, _ in ratios])
    assert rolled.mean() <= 1.02
    assert np.percentile(rolled, 95) <= 1.07


@pytest.mark.parametrize("seed", range(8))
def test_following_the_exact_plan_to_the_end_costs_the_optimum(seed: int) -> None:
    problem = drawn_problem(np.random.default_rng(seed), particles=7, repairs=5, tests=4, cures=seed % 2 == 1)
    followed = expected_cost(problem, lambda here: plan(here, exact_branches=UNLIMITED).action)
    assert followed == pytest.approx(optimum(problem), rel=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_following_the_rollout_costs_no_more_than_it_promised(seed: int) -> None:
    # Replanning after each outcome can only improve on the tree found first, up to what its pruning left out.
    problem = drawn_problem(np.random.default_rng(seed), particles=7, repairs=5, tests=4)
    promised: Plan = plan(problem, exact_branches=0)
    followed = expected_cost(problem, lambda here: plan(here, exact_branches=0).action)
    assert optimum(problem) * (1.0 - 1e-9) <= followed <= promised.upper * (1.0 + 1e-3)
