"""The problem packed for the search: only what can still matter, sorted by repair, and a batch of beliefs on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.problem import ANY_SETUP, DecisionProblem

__all__ = ["Beliefs", "PlanningModel", "pack", "start"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

_SUPPORT = 1e-9
_DIFFERENCE = 1e-12


@dataclass(frozen=True, eq=False)
class PlanningModel:
    """Tables of the particles with any probability and the tests that tell any two of them apart or cure one.

    Particles are sorted by repair; `starts` (R,) gives the first particle of each repair and `repair_of` (F,) counts
    over the repairs kept. `joint` (T, F, O) is P(outcome, not cured | particle). `tests`, `repairs` and `particles`
    hold the numbers that the problem uses.
    """

    prior: Floats
    repair_of: Ints
    starts: Ints
    joint: Floats
    test_cost: Floats
    test_access: Bools
    test_setup: Ints
    setup_cost: Floats
    setup: int
    access_cost: Floats
    opened: Bools
    repair_cost: Floats
    repair_access: Bools
    cures: Floats | None
    cure_cost: Floats
    tests: Ints
    repairs: Ints
    particles: Ints


@dataclass(frozen=True, eq=False)
class Beliefs:
    """N situations on one model: belief (N, F), taken (N, T), opened (N, A), set-up (N,)."""

    belief: Floats
    taken: Bools
    opened: Bools
    setup: Ints

    def __len__(self) -> int:
        """Return N."""
        return len(self.belief)

    def pick(self, rows: Ints | Bools) -> Beliefs:
        """Return the chosen situations."""
        return Beliefs(self.belief[rows], self.taken[rows], self.opened[rows], self.setup[rows])


def pack(problem: DecisionProblem) -> PlanningModel:
    """Drop the particles, repairs, tests and outcomes that cannot matter any more; nothing else changes."""
    particles = np.flatnonzero(problem.prior > _SUPPORT)
    particles = particles[np.argsort(problem.repair_of[particles], kind="stable")]
    repairs, starts, repair_of = np.unique(problem.repair_of[particles], return_index=True, return_inverse=True)
    prior = problem.prior[particles] / problem.prior[particles].sum()
    tests = np.flatnonzero(problem.untaken)
    likelihood = _table(problem.likelihood, tests, particles)
    cures = None if problem.cures is None else problem.cures[np.ix_(tests, particles)]
    largest = likelihood.max(axis=1, initial=0.0)
    telling = ((largest - likelihood.min(axis=1, initial=1.0)) > _DIFFERENCE).any(axis=1)
    telling = telling if cures is None else telling | (cures > 0.0).any(axis=1)
    if not telling.all():
        tests, likelihood = tests[telling], likelihood[telling]
        cures = None if cures is None else cures[telling]
    joint = likelihood if cures is None else likelihood * (1.0 - cures[:, :, None])
    used = largest[telling].max(axis=0, initial=0.0) > 0.0
    joint = joint if used.all() else joint[:, :, used]
    return PlanningModel(
        prior=prior,
        repair_of=repair_of.astype(np.int64),
        starts=starts.astype(np.int64),
        joint=joint,
        test_cost=problem.test_cost[tests],
        test_access=problem.test_access[tests],
        test_setup=problem.test_setup[tests],
        setup_cost=problem.setup_cost,
        setup=problem.setup,
        access_cost=problem.access_cost,
        opened=problem.opened,
        repair_cost=problem.repair_cost[repairs],
        repair_access=problem.repair_access[repairs],
        cures=cures if cures is not None and cures.any() else None,
        cure_cost=np.zeros(len(tests)) if problem.cure_cost is None else problem.cure_cost[tests],
        tests=tests,
        repairs=repairs,
        particles=particles,
    )


def start(model: PlanningModel) -> Beliefs:
    """Return the present situation as a batch of one."""
    taken = np.zeros((1, len(model.tests)), dtype=bool)
    return Beliefs(model.prior[None], taken, model.opened[None], np.array([model.setup], dtype=np.int64))


def test_costs(model: PlanningModel, at: Beliefs) -> Floats:
    """(N, T) float, marginal cost of each test: its own, newly opened access, change of set-up."""
    return _test_costs(model, at, ~at.opened * model.access_cost)


def test_costs_beyond_repair(model: PlanningModel, at: Beliefs, chance: Floats) -> Floats:
    """(N, T) float, what each test costs beyond what the repair will cost anyway.

    Access that the repair needs with probability p would be paid with that probability in any case, so 1 - p of it
    counts.

    Parameters
    ----------
    chance : (N, R) float
        Probability of each repair.
    """
    needed = np.minimum(chance @ model.repair_access, 1.0)
    return _test_costs(model, at, ~at.opened * model.access_cost * (1.0 - needed))


def _test_costs(model: PlanningModel, at: Beliefs, closed: Floats) -> Floats:
    settled = (model.test_setup == ANY_SETUP) | (model.test_setup == at.setup[:, None])
    change = np.where(settled, 0.0, _cost_of_setup(model))
    own = model.test_cost + closed @ model.test_access.T.astype(float)
    return np.asarray(own + change)


def repair_costs(model: PlanningModel, opened: Bools) -> Floats:
    """(N, R) float, marginal cost of each repair: its own and newly opened access."""
    closed = ~opened * model.access_cost
    return np.asarray(model.repair_cost + closed @ model.repair_access.T.astype(float))


def _cost_of_setup(model: PlanningModel) -> Floats:
    if not model.setup_cost.size:
        return np.zeros(len(model.test_setup))
    return np.where(model.test_setup == ANY_SETUP, 0.0, model.setup_cost[model.test_setup])


def _table(likelihood: Floats, tests: Ints, particles: Ints) -> Floats:
    """Choose tests and particles, without a copy where all are wanted in their order."""
    kept = likelihood if len(tests) == len(likelihood) else likelihood[tests]
    if len(particles) == likelihood.shape[1] and bool((np.diff(particles) > 0).all()):
        return kept
    return np.take(kept, particles, axis=1)
