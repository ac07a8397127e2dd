"""Small random problems: shared access, noisy tests of two and three outcomes, set-ups, now and then a curing test."""

from __future__ import annotations

import numpy as np

from proveout.diagnosis.planner import DecisionProblem


def drawn_problem(
    rng: np.random.Generator,
    *,
    particles: int = 10,
    repairs: int = 6,
    tests: int = 8,
    access: int = 4,
    cures: bool = False,
) -> DecisionProblem:
    """Draw a problem; every repair has a particle, the first access operation needs the second before it."""
    F, R, T, A = particles, repairs, tests, access
    repair_of = np.concatenate([np.arange(R), rng.integers(0, R, F - R)])
    likelihood = np.zeros((T, F, 3))
    for t in range(T):
        outcomes = int(rng.integers(2, 4))
        noise = float(rng.choice([0.0, rng.uniform(0.02, 0.15)]))
        likelihood[t, :, :outcomes] = noise / (outcomes - 1)
        likelihood[t, np.arange(F), rng.integers(0, outcomes, F)] = 1.0 - noise
    return DecisionProblem(
        prior=rng.dirichlet(np.ones(F)),
        repair_of=repair_of,
        likelihood=likelihood,
        test_cost=rng.uniform(2.0, 20.0, T),
        test_access=_access(rng, T, A),
        test_setup=rng.integers(-1, 2, T),
        setup_cost=np.array([3.0, 5.0]),
        setup=int(rng.integers(-1, 2)),
        access_cost=rng.uniform(5.0, 60.0, A),
        opened=rng.random(A) < 0.2,
        repair_cost=rng.uniform(30.0, 300.0, R),
        repair_access=_access(rng, R, A),
        cures=np.where(rng.random((T, F)) < 0.15, rng.uniform(0.2, 1.0, (T, F)), 0.0) if cures else None,
        cure_cost=rng.uniform(0.0, 40.0, T) if cures else None,
    )


def _access(rng: np.random.Generator, count: int, access: int) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    needed = rng.integers(-1, access, count)[:, None] == np.arange(access)
    needed[:, 1] |= needed[:, 0]
    return np.asarray(needed)
