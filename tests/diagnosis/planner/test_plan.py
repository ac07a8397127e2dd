"""What the planner must and must not do in plain situations; the expected figures are reckoned by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnosis.planner.drawn import drawn_problem
from proveout.diagnosis.planner import (
    Action,
    DecisionProblem,
    after_outcome,
    after_repair,
    marginal_cost,
    outcome_chances,
    plan,
)
from proveout.errors import InputError

BOTH = pytest.mark.parametrize("exact_branches", [0, 3000], ids=["rollout", "exact"])


def two_suspects(**changes: object) -> DecisionProblem:
    """Wire (30) or sensor (200), equally likely; test 0 tells them apart for 5, test 1 tells nothing for 1."""
    telling = [[1.0, 0.0], [0.0, 1.0]]
    problem = DecisionProblem(
        prior=np.array([0.5, 0.5]),
        repair_of=np.array([0, 1]),
        likelihood=np.array([telling, [[0.5, 0.5], [0.5, 0.5]]]),
        test_cost=np.array([5.0, 1.0]),
        test_access=np.array([[False, False], [False, False]]),
        test_setup=np.array([0, 0]),
        setup_cost=np.array([2.0, 3.0]),
        setup=0,
        access_cost=np.array([40.0, 10.0]),
        opened=np.array([False, False]),
        repair_cost=np.array([30.0, 200.0]),
        repair_access=np.array([[False, False], [False, False]]),
    )
    return replace(problem, **changes)  # type: ignore[arg-type]


@BOTH
def test_a_cheap_test_that_tells_is_taken_before_a_dear_repair(exact_branches: int) -> None:
    # Repairing in order costs 30 + 0.5 * 200 = 130; testing 5 + 0.5 * 30 + 0.5 * 200 = 120.
    found = plan(two_suspects(), exact_branches=exact_branches)
    assert found.action == Action("test", 0)
    assert found.expected_cost == pytest.approx(120.0)
    assert found.alternatives[0].information == pytest.approx(np.log(2.0), abs=1e-5)
    # Next best: the wire first, 30 + 0.5 * 200. The sensor first, 200 + 0.5 * 30, is dearer than either.
    assert found.alternatives[1].action == Action("repair", 0)
    assert found.alternatives[1].expected_cost == pytest.approx(130.0)


@BOTH
def test_a_repair_cheaper_than_the_test_is_done_at_once(exact_branches: int) -> None:
    # With the test at 16: 16 + 115 = 131 against 130 for repairing in order.
    found = plan(two_suspects(test_cost=np.array([16.0, 1.0])), exact_branches=exact_branches)
    assert found.action == Action("repair", 0)
    assert found.expected_cost == pytest.approx(130.0)


@BOTH
@pytest.mark.parametrize("seed", range(10))
def test_a_test_nobody_needs_is_never_chosen(seed: int, exact_branches: int) -> None:
    problem = drawn_problem(np.random.default_rng(seed), tests=5)
    useless = problem.likelihood.copy()
    useless[2] = [0.7, 0.2, 0.1]
    problem = replace(problem, likelihood=useless, test_cost=np.where(np.arange(5) == 2, 0.0, problem.test_cost))
    found = plan(problem, exact_branches=exact_branches)
    assert Action("test", 2) not in [a.action for a in found.alternatives]


def test_opened_access_is_not_paid_twice() -> None:
    problem = two_suspects(
        test_access=np.array([[True, False], [True, True]]), repair_access=np.array([[True, False], [True, True]])
    )
    assert marginal_cost(problem, Action("test", 0)) == 45.0
    opened = after_outcome(problem, 0, 1)
    assert marginal_cost(opened, Action("repair", 1)) == 210.0
    # The vehicle is opened for 40 in any case: 40 + 5 + 0.5 * 30 + 0.5 * (10 + 200) = 165.
    for exact_branches in (0, 3000):
        assert plan(problem, exact_branches=exact_branches).expected_cost == pytest.approx(165.0)
    assert after_repair(problem, 0).opened.tolist() == [True, False]


def test_the_set_up_is_not_paid_twice() -> None:
    # A test in set-up 1 costs its change once, and nothing more for the next test there.
    problem = two_suspects(test_setup=np.array([1, 1]))
    assert marginal_cost(problem, Action("test", 0)) == 8.0
    assert marginal_cost(after_outcome(problem, 1, 0), Action("test", 0)) == 5.0
    for exact_branches in (0, 3000):
        assert plan(problem, exact_branches=exact_branches).expected_cost == pytest.approx(123.0)


def test_a_test_for_any_set_up_leaves_the_set_up_as_it_is() -> None:
    problem = two_suspects(test_setup=np.array([-1, 1]), setup=1)
    assert marginal_cost(problem, Action("test", 0)) == 5.0
    assert after_outcome(problem, 0, 0).setup == 1


def test_an_unknown_set_up_has_to_be_made() -> None:
    assert marginal_cost(two_suspects(setup=-1), Action("test", 0)) == 7.0


@BOTH
def test_reseating_that_may_cure_ends_the_case_when_it_does(exact_branches: int) -> None:
    # Test 1 reseats for 1 and cures the wire's fault in 80 % of cases, with 4 for the proof; test 0 tells the rest.
    # 1 + 0.5 * 0.8 * 4 + 0.6 * 5 + 0.1 * 30 + 0.5 * 200 = 108.6.
    problem = two_suspects(cures=np.array([[0.0, 0.0], [0.8, 0.0]]), cure_cost=np.array([0.0, 4.0]))
    found = plan(problem, exact_branches=exact_branches)
    assert found.action == Action("test", 1)
    assert found.expected_cost == pytest.approx(108.6)
    chances, cured = outcome_chances(problem, 1)
    assert cured == pytest.approx(0.4)
    assert chances.tolist() == pytest.approx([0.3, 0.3])
    assert after_outcome(problem, 1, 0).prior.tolist() == pytest.approx([1.0 / 6.0, 5.0 / 6.0])


@settings(deadline=None, max_examples=25)
@given(seed=st.integers(0, 10_000), cures=st.booleans())
def test_the_order_in_which_particles_and_tests_are_listed_changes_nothing(seed: int, cures: bool) -> None:
    rng = np.random.default_rng(seed)
    problem = drawn_problem(rng, particles=7, repairs=4, tests=4, cures=cures)
    f, t = rng.permutation(7), rng.permutation(4)
    shuffled = replace(
        problem,
        prior=problem.prior[f],
        repair_of=problem.repair_of[f],
        likelihood=problem.likelihood[np.ix_(t, f)],
        test_cost=problem.test_cost[t],
        test_access=problem.test_access[t],
        test_setup=problem.test_setup[t],
        cures=None if problem.cures is None else problem.cures[np.ix_(t, f)],
        cure_cost=None if problem.cure_cost is None else problem.cure_cost[t],
    )
    for exact_branches in (0, 10**8):
        one, other = (plan(p, exact_branches=exact_branches) for p in (problem, shuffled))
        assert other.expected_cost == pytest.approx(one.expected_cost, rel=1e-6)
        assert other.lower == pytest.approx(one.lower, rel=1e-6)


@settings(deadline=None, max_examples=25)
@given(seed=st.integers(0, 10_000), factor=st.floats(0.1, 100.0))
def test_another_currency_gives_the_same_plan_at_the_converted_cost(seed: int, factor: float) -> None:
    problem = drawn_problem(np.random.default_rng(seed), particles=7, repairs=4, tests=4)
    names = ("test_cost", "setup_cost", "access_cost", "repair_cost")
    converted = replace(problem, **{name: getattr(problem, name) * factor for name in names})
    here, there = plan(problem, exact_branches=10**8), plan(converted, exact_branches=10**8)
    assert there.expected_cost == pytest.approx(here.expected_cost * factor, rel=1e-9)


def test_a_large_problem_is_planned_within_its_bounds() -> None:
    # 60 particles, 70 tests: more than the look ahead keeps; seed 5.
    problem = drawn_problem(np.random.default_rng(5), particles=60, repairs=12, tests=70)
    found = plan(problem)
    assert not found.exact
    assert found.lower <= found.expected_cost <= found.upper
    assert found.action.kind == "test"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"prior": np.array([0.5, 0.6])}, "prior sums to 1.1"),
        ({"repair_of": np.array([0, 2])}, "repair_of must lie in 0 to 1"),
        ({"setup": 2}, "setup is 2"),
        ({"test_setup": np.array([0, 7])}, "test_setup must lie in -1 to 1"),
        ({"test_cost": np.array([1.0])}, r"test_cost has shape \(1,\); it must be \(2,\)"),
        ({"test_cost": np.array([1.0, -1.0])}, "test_cost holds a negative"),
        ({"repair_cost": np.array([1.0, np.inf])}, "repair_cost holds a negative or unlimited"),
        ({"likelihood": np.full((2, 2, 2), 0.4)}, "likelihood of test 0, particle 0 sums to 0.8"),
        ({"likelihood": np.array([[[1.5, -0.5]] * 2] * 2)}, "likelihood holds a negative"),
        ({"likelihood": np.ones((2, 2))}, "likelihood has shape"),
        ({"cures": np.full((2, 2), 2.0)}, "cures holds a value outside 0 to 1"),
    ],
)
def test_a_problem_that_does_not_fit_is_refused_with_its_reason(changes: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        two_suspects(**changes)


def test_an_impossible_outcome_is_refused() -> None:
    with pytest.raises(InputError, match="probability 0 under every fault"):
        after_outcome(after_repair(two_suspects(), 1), 0, 1)


def test_a_vain_repair_of_the_only_suspect_is_refused() -> None:
    with pytest.raises(InputError, match="only suspect"):
        after_repair(after_repair(two_suspects(), 1), 0)
