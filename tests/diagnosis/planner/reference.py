"""The exact optimum, written plainly: backward induction over every situation that could exist, nothing left out.

A situation is what each test showed (0 for not taken), which repairs failed, and the set-up. The value is expected cost
times the probability of the situation, so no division is needed. Shares no code with the product.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner import DecisionProblem

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass
class Table:
    """All combinations of test results: digits (S, T), weight (S, F), and the stride of each test's digit."""

    digits: Ints
    weight: Floats
    stride: list[int]
    outcomes: list[list[int]]


def optimum(problem: DecisionProblem) -> float:
    """Return the least expected cost up to a proven repair."""
    table = results(problem)
    repairs = len(problem.repair_cost)
    setups = len(problem.setup_cost) + 1
    everything_failed = (1 << repairs) - 1
    value = {everything_failed: np.zeros((setups, len(table.digits)))}
    for failed in sorted(range(everything_failed), key=lambda x: -x.bit_count()):
        value[failed] = solve(problem, table, failed, value)
    return float(value[0][problem.setup, 0])


def results(problem: DecisionProblem) -> Table:
    """Number the combinations of results and multiply up how likely each particle makes them."""
    cures = np.zeros(problem.likelihood.shape[:2]) if problem.cures is None else problem.cures
    outcomes = [[o for o in range(table.shape[1]) if table[:, o].any()] for table in problem.likelihood]
    stride, size = [], 1
    for used in outcomes:
        stride.append(size)
        size *= len(used) + 1
    number = np.arange(size)
    digits = np.stack([number // s % (len(used) + 1) for s, used in zip(stride, outcomes, strict=True)], axis=1)
    weight = np.tile(problem.prior, (size, 1))
    for t, used in enumerate(outcomes):
        for k, o in enumerate(used):
            rows = digits[:, t] == k + 1
            weight[rows] *= problem.likelihood[t, :, o] * (1.0 - cures[t])
    return Table(digits, weight, stride, outcomes)


def solve(problem: DecisionProblem, table: Table, failed: int, value: dict[int, Floats]) -> Floats:
    """Value of all results and set-ups when the repairs in the bit set `failed` were carried out in vain."""
    T, R = len(problem.test_cost), len(problem.repair_cost)
    tried = np.array([bool(failed >> r & 1) for r in range(R)])
    weight = table.weight * ~tried[problem.repair_of]
    mass = weight.sum(axis=1)
    opened = problem.opened | ((table.digits > 0) @ problem.test_access) | problem.repair_access[tried].any(axis=0)
    setups = len(problem.setup_cost) + 1
    here = np.full((setups, len(mass)), np.inf)
    for r in np.flatnonzero(~tried):
        cost = problem.repair_cost[r] + (problem.repair_access[r] & ~opened) @ problem.access_cost
        np.minimum(here, cost * mass + value[failed | 1 << int(r)], out=here)
    taken = (table.digits > 0).sum(axis=1)
    for count in range(T - 1, -1, -1):
        for t in range(T):
            rows = np.flatnonzero((taken == count) & (table.digits[:, t] == 0))
            own = problem.test_cost[t] + (problem.test_access[t] & ~opened[rows]) @ problem.access_cost
            cost = own * mass[rows]
            if problem.cures is not None and problem.cure_cost is not None:
                cost = cost + weight[rows] @ problem.cures[t] * problem.cure_cost[t]
            for u in range(setups):
                # The last row stands for an unknown set-up, as index -1 does.
                now = u if u < setups - 1 else -1
                then = now if problem.test_setup[t] == -1 else int(problem.test_setup[t])
                total = cost + (problem.setup_cost[then] * mass[rows] if then != now else 0.0)
                for k in range(len(table.outcomes[t])):
                    total = total + here[then, rows + (k + 1) * table.stride[t]]
                here[u, rows] = np.minimum(here[u, rows], total)
    return here
