"""What following a policy costs: its whole distribution, and the chance of a proven cause within a budget."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.chain import chain_order
from proveout.diagnosis.planner.problem import (
    Action,
    DecisionProblem,
    after_outcome,
    after_repair,
    marginal_cost,
    outcome_chances,
)
from proveout.errors import InputError

__all__ = ["Policy", "Spend", "chance_within", "expected_cost", "repair_in_order", "spend_of"]

Floats = NDArray[np.float64]
Policy = Callable[[DecisionProblem], Action]

_ROUNDING = 1e-9


@dataclass(frozen=True, eq=False)
class Spend:
    """Costs (N,) at which cases end with a proven repair, and the chance (N,) of each; sorted by cost."""

    cost: Floats
    chance: Floats

    @property
    def mean(self) -> float:
        """Expected cost."""
        return float(self.cost @ self.chance)

    def within(self, limit: float) -> float:
        """Probability that the proven repair is reached at `limit` or less."""
        slack = _ROUNDING * max(1.0, abs(limit))
        return float(min(1.0, self.chance[self.cost <= limit + slack].sum()))


def repair_in_order(problem: DecisionProblem) -> Action:
    """Policy without tests: the repair with the highest probability over cost (Kadane and Simon, 1977)."""
    chance = np.bincount(problem.repair_of, problem.prior, len(problem.repair_cost))
    closed = problem.access_cost * ~problem.opened
    cost = problem.repair_cost + problem.repair_access.astype(float) @ closed
    return Action("repair", int(chain_order(np.asarray(chance, dtype=float), cost)[0]))


def spend_of(
    problem: DecisionProblem,
    policy: Policy,
    *,
    meter: DecisionProblem | None = None,
    smallest_branch: float = 0.0,
) -> Spend:
    """Follow the policy through every outcome and collect what each ending cost.

    Parameters
    ----------
    problem : DecisionProblem
        What the policy sees.
    meter : DecisionProblem, optional
        The same case with its costs in another unit, such as minutes, in which to count.
    smallest_branch : float
        Branches less likely than this repair in order instead of asking the policy. The result is still the cost of a
        policy that can be carried out.

    Raises
    ------
    InputError
        The policy takes a test twice, or a repair that cures nothing left.
    """
    ends: dict[float, float] = {}
    branches = [(1.0, 0.0, problem, meter or problem)]
    while branches:
        chance, spent, here, counted = branches.pop()
        action = policy(here) if chance >= smallest_branch else repair_in_order(here)
        spent += marginal_cost(counted, action)
        step = _after_repair if action.kind == "repair" else _after_test
        ending, extra, following = step(here, counted, action.index)
        if ending > 0.0:
            ends[spent + extra] = ends.get(spent + extra, 0.0) + chance * ending
        branches += [(chance * share, spent, after, after_counted) for share, after, after_counted in following]
    cost = np.array(sorted(ends))
    return Spend(cost, np.array([ends[value] for value in cost.tolist()]))


def expected_cost(problem: DecisionProblem, policy: Policy, *, smallest_branch: float = 0.0) -> float:
    """Return the expected cost of following the policy up to a proven repair."""
    return spend_of(problem, policy, smallest_branch=smallest_branch).mean


def chance_within(
    problem: DecisionProblem,
    policy: Policy,
    limit: float,
    *,
    meter: DecisionProblem | None = None,
    smallest_branch: float = 0.0,
) -> float:
    """Probability that the repair that cures is reached for `limit` or less, in the unit of `meter`.

    Parameters
    ----------
    limit : float
        Budget, in the unit of the problem's costs, or of those of `meter`.
    """
    return spend_of(problem, policy, meter=meter, smallest_branch=smallest_branch).within(limit)


Following = list[tuple[float, DecisionProblem, DecisionProblem]]


def _after_repair(here: DecisionProblem, counted: DecisionProblem, repair: int) -> tuple[float, float, Following]:
    """Chance that the repair cures, nothing more to pay, and what is left if it does not."""
    cured = float(here.prior[here.repair_of == repair].sum())
    if cured <= 0.0:
        raise InputError(f"repair {repair} cures nothing that is still possible; choose one that does.")
    if cured >= 1.0 - _ROUNDING:
        return 1.0, 0.0, []
    return cured, 0.0, [(1.0 - cured, after_repair(here, repair), after_repair(counted, repair))]


def _after_test(here: DecisionProblem, counted: DecisionProblem, test: int) -> tuple[float, float, Following]:
    """Chance that the test cures, what the cure still costs, and what each outcome leaves."""
    if not here.untaken[test]:
        raise InputError(f"test {test} was taken already; its outcome would be the same. Choose another.")
    chances, cured = outcome_chances(here, test)
    extra = 0.0 if counted.cure_cost is None else float(counted.cure_cost[test])
    following = [
        (float(chances[o]), after_outcome(here, test, o), after_outcome(counted, test, o))
        for o in np.flatnonzero(chances > 0.0).tolist()
    ]
    return cured if here.cures is not None else 0.0, extra, following
