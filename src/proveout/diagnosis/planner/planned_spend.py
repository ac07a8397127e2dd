"""What the policy found by the rollout will cost, read off its tree at once instead of planning anew at every step."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.chain import chain_order
from proveout.diagnosis.planner.model import Beliefs, PlanningModel, repair_costs, test_costs
from proveout.diagnosis.planner.plan import rollout_tree
from proveout.diagnosis.planner.problem import DecisionProblem
from proveout.diagnosis.planner.rollout import Effort
from proveout.diagnosis.planner.spend import Spend
from proveout.diagnosis.planner.tree import STOP, Edges, Layer

__all__ = ["planned_spend"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class _Cases:
    """Cases under way in one layer: situation (K,), chance (K,), spent so far (K,)."""

    situation: Ints
    chance: Floats
    spent: Floats


def planned_spend(
    problem: DecisionProblem, *, meter: DecisionProblem | None = None, effort: Effort | None = None
) -> Spend:
    """Return the distribution of the cost up to a proven repair under the policy that the rollout found.

    Branches that the effort does not reach repair in order, so for a large problem the costs err on the high side; more
    situations tighten them.

    Parameters
    ----------
    meter : DecisionProblem, optional
        The same case with its costs in another unit, such as minutes, in which to count.
    effort : Effort, optional
        As for `plan`.
    """
    model, tree = rollout_tree(problem, effort)
    metered = model if meter is None else _with_costs_of(model, meter)
    cases = _Cases(np.zeros(1, dtype=np.int64), np.ones(1), np.zeros(1))
    ends: list[tuple[Floats, Floats]] = []
    for depth, layer in enumerate(tree.layers):
        choice = tree.choices[depth][cases.situation]
        ends.append(_repaired_in_order(model, metered, layer, _pick(cases, choice == STOP)))
        if depth < len(tree.edges):
            going = choice != STOP
            cases, ended = _stepped(metered, layer, tree.edges[depth], _pick(cases, going), choice[going])
            ends.append(ended)
    return _collected(ends)


def _pick(cases: _Cases, rows: NDArray[np.bool_]) -> _Cases:
    return _Cases(cases.situation[rows], cases.chance[rows], cases.spent[rows])


def _stepped(
    model: PlanningModel, layer: Layer, edges: Edges, cases: _Cases, step: Ints
) -> tuple[_Cases, tuple[Floats, Floats]]:
    """Take each case's step: the cases that go on, and cost and chance of those that end with a cure."""
    at = layer.at.pick(cases.situation)
    spent = cases.spent + _step_cost(model, at, edges.action[step])
    number, branches = np.nonzero(step[:, None] == edges.edge)
    following = _Cases(edges.target[branches], cases.chance[number] * edges.weight[branches], spent[number])
    cured = np.maximum(cases.chance - np.bincount(number, following.chance, len(step)), 0.0)
    after_cure = np.concatenate([model.cure_cost, np.zeros(len(model.repairs))])[edges.action[step]]
    return following, (spent + after_cure, cured)


def _step_cost(model: PlanningModel, at: Beliefs, action: Ints) -> Floats:
    both = np.concatenate([test_costs(model, at), repair_costs(model, at.opened)], axis=1)
    return both[np.arange(len(action)), action]


def _repaired_in_order(
    model: PlanningModel, metered: PlanningModel, layer: Layer, cases: _Cases
) -> tuple[Floats, Floats]:
    """Cost and chance (K * R,) of ending with each repair, in the order that the deciding costs give."""
    opened, chance = layer.at.opened[cases.situation], layer.chance[cases.situation]
    order = chain_order(chance, repair_costs(model, opened))
    needed = np.logical_or.accumulate(metered.repair_access[order], axis=1) & ~opened[:, None, :]
    running = np.cumsum(metered.repair_cost[order], axis=1) + needed @ metered.access_cost
    ending = cases.chance[:, None] * np.take_along_axis(chance, order, axis=1)
    return (cases.spent[:, None] + running).ravel(), ending.ravel()


def _collected(ends: list[tuple[Floats, Floats]]) -> Spend:
    cost, chance = (np.concatenate(columns) for columns in zip(*ends, strict=True))
    levels, group = np.unique(cost[chance > 0.0], return_inverse=True)
    return Spend(levels, np.asarray(np.bincount(group, chance[chance > 0.0], len(levels)), dtype=float))


def _with_costs_of(model: PlanningModel, meter: DecisionProblem) -> PlanningModel:
    return replace(
        model,
        test_cost=meter.test_cost[model.tests],
        setup_cost=meter.setup_cost,
        access_cost=meter.access_cost,
        repair_cost=meter.repair_cost[model.repairs],
        cure_cost=np.zeros(len(model.tests)) if meter.cure_cost is None else meter.cure_cost[model.tests],
    )
