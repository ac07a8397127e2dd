"""The planner against the exact optimum on random small problems, and its time on a large one."""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner import EXACT_BRANCHES, Action, DecisionProblem, expected_cost, plan

PROBLEMS = 200
FIRST_SEED = 20_000
UNLIMITED = 4_000_000

Bools = NDArray[np.bool_]


def run() -> Iterator[tuple[str, float, str]]:
    """Yield name, value, unit."""
    with_exact, rollout_only, bound = [], [], []
    for seed in range(FIRST_SEED, FIRST_SEED + PROBLEMS):
        problem = small_problem(np.random.default_rng(seed))
        best = plan(problem, exact_branches=UNLIMITED)
        if not best.exact:
            raise RuntimeError(f"problem of seed {seed} is too large for the exact optimum; draw smaller ones")
        with_exact.append(expected_cost(problem, Following(None)) / best.expected_cost)
        rollout_only.append(expected_cost(problem, Following(0)) / best.expected_cost)
        bound.append(plan(problem, exact_branches=0).lower / best.expected_cost)
    yield "cost_vs_optimum", float(np.mean(with_exact)), "ratio"
    yield "cost_vs_optimum_p95", float(np.percentile(with_exact, 95)), "ratio"
    yield "cost_vs_optimum_rollout", float(np.mean(rollout_only)), "ratio"
    yield "cost_vs_optimum_rollout_p95", float(np.percentile(rollout_only, 95)), "ratio"
    yield "lower_bound_vs_optimum", float(np.mean(bound)), "ratio"
    yield "plan_problems", float(PROBLEMS), f"seeds {FIRST_SEED} to {FIRST_SEED + PROBLEMS - 1}"
    wall, processor = large_plan_ms()
    yield "plan_large_ms", wall, "ms"
    yield "plan_large_cpu_ms", processor, "ms"


class Following:
    """The plan followed step by step, asked once per situation; `exact_branches` of None is the product's own."""

    def __init__(self, exact_branches: int | None) -> None:
        self.exact_branches = EXACT_BRANCHES if exact_branches is None else exact_branches
        self.actions: dict[bytes, Action] = {}

    def __call__(self, problem: DecisionProblem) -> Action:
        state = np.concatenate([problem.untaken, problem.opened])
        key = np.round(problem.prior, 12).tobytes() + state.tobytes() + bytes([problem.setup + 1])
        if key not in self.actions:
            self.actions[key] = plan(problem, exact_branches=self.exact_branches).action
        return self.actions[key]


def small_problem(rng: np.random.Generator) -> DecisionProblem:
    """10 particles, 6 to 8 repairs, 8 to 12 tests of two or three outcomes, 4 clusters of shared access, 2 set-ups."""
    particles, repairs, tests, access = 10, int(rng.integers(6, 9)), int(rng.integers(8, 13)), 4
    repair_of = np.concatenate([np.arange(repairs), rng.integers(0, repairs, particles - repairs)])
    return DecisionProblem(
        prior=rng.dirichlet(np.ones(particles)),
        repair_of=repair_of,
        likelihood=np.stack([_noisy_test(rng, particles) for _ in range(tests)]),
        test_cost=rng.uniform(2.0, 20.0, tests),
        test_access=_clusters(rng, tests, access),
        test_setup=rng.integers(-1, 2, tests),
        setup_cost=np.array([3.0, 5.0]),
        setup=0,
        access_cost=rng.uniform(5.0, 60.0, access),
        opened=np.zeros(access, dtype=bool),
        repair_cost=rng.uniform(30.0, 300.0, repairs),
        repair_access=_clusters(rng, repairs, access),
    )


def _noisy_test(rng: np.random.Generator, particles: int) -> NDArray[np.float64]:
    """Half of the tests are clear; in the others, faults near a limit may show either side of it, or slips occur."""
    outcomes = int(rng.integers(2, 4))
    shown = rng.integers(0, outcomes, particles)
    table = np.zeros((particles, 3))
    table[np.arange(particles), shown] = 1.0
    kind = rng.random()
    if kind < 0.3:
        near = rng.choice(particles, 2, replace=False)
        share = rng.uniform(0.2, 0.8, 2)
        table[near] *= share[:, None]
        table[near, (shown[near] + 1) % outcomes] += 1.0 - share
    elif kind < 0.5:
        slip = rng.uniform(0.02, 0.15)
        table[:, :outcomes] = (1.0 - slip) * table[:, :outcomes] + slip / outcomes
    return table


def _clusters(rng: np.random.Generator, count: int, access: int) -> Bools:
    """Each needs one cluster of access or none; the first cluster lies behind the second."""
    needed = rng.integers(-1, access, count)[:, None] == np.arange(access)
    needed[:, 1] |= needed[:, 0]
    return np.asarray(needed)


def large_problem(rng: np.random.Generator) -> DecisionProblem:
    """200 particles of 30 repairs, 120 tests of 32 reading bins, 10 access operations, 4 set-ups."""
    particles, repairs, tests, bins, access = 200, 30, 120, 32, 10
    repair_of = np.sort(np.concatenate([np.arange(repairs), rng.integers(0, repairs, particles - repairs)]))
    likelihood = np.empty((tests, particles, bins))
    for t in range(tests):
        level = rng.uniform(0.0, bins, int(rng.integers(2, 6)))
        centre = level[rng.integers(0, len(level), repairs)][repair_of] + rng.normal(0.0, 2.0, particles)
        centre = np.where(rng.random(particles) < 0.5, level[0], centre)
        table = np.exp(-0.5 * ((np.arange(bins) - centre[:, None]) / rng.uniform(0.3, 1.5)) ** 2) + 1e-4
        likelihood[t] = table / table.sum(axis=1, keepdims=True)
    return DecisionProblem(
        prior=rng.dirichlet(np.full(particles, 0.3)),
        repair_of=repair_of,
        likelihood=likelihood,
        test_cost=rng.uniform(2.0, 15.0, tests),
        test_access=rng.random((tests, access)) < 0.1,
        test_setup=rng.integers(-1, 4, tests),
        setup_cost=np.full(4, 3.0),
        setup=0,
        access_cost=rng.uniform(5.0, 80.0, access),
        opened=np.zeros(access, dtype=bool),
        repair_cost=rng.uniform(30.0, 400.0, repairs),
        repair_access=rng.random((repairs, access)) < 0.1,
    )


def large_plan_ms() -> tuple[float, float]:
    """Median wall and processor time of one plan, warm, over five large problems (seeds 0 to 4).

    The processor's time counts the work itself; on a busy machine the wall's time is longer.
    """
    wall, processor = [], []
    for seed in range(5):
        problem = large_problem(np.random.default_rng(seed))
        for _ in range(6):
            begun, used = time.perf_counter(), time.process_time()
            plan(problem)
            wall.append(time.perf_counter() - begun)
            processor.append(time.process_time() - used)
    return 1e3 * float(np.median(wall)), 1e3 * float(np.median(processor))
