"""The next action: exact where the problem is small, by rollout elsewhere, with bounds on its cost to the end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.base import step_index
from proveout.diagnosis.planner.chain import chain_order
from proveout.diagnosis.planner.exact import exact_tree
from proveout.diagnosis.planner.model import PlanningModel, pack, repair_costs, start
from proveout.diagnosis.planner.problem import Action, DecisionProblem
from proveout.diagnosis.planner.reduction import look_ahead, most_promising
from proveout.diagnosis.planner.rollout import Effort, rollout
from proveout.diagnosis.planner.tree import Layer, Tree, Workbench, evaluate, layer_of, workbench

__all__ = ["Alternative", "Plan", "plan", "rollout_tree"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

EXACT_BRANCHES = 3000
"""Branches that the exact solution may look at before the rollout takes over; about 10 ms."""
MOST_TESTS = 48
MOST_OUTCOMES = 6
SMALL = 5_000
WORK = 13_000_000


@dataclass(frozen=True)
class Alternative:
    """One step with its expected cost to the end and its expected information about the repair [nat]."""

    action: Action
    expected_cost: float
    information: float


@dataclass(frozen=True)
class Plan:
    """The next action and what is known about its cost.

    Parameters
    ----------
    action : Action
        The step to do now.
    expected_cost : float
        Expected cost up to a proven repair when it is done first; an estimate between the bounds in a large problem.
    lower, upper : float
        No policy costs less than `lower`; the policy found costs `upper`.
    alternatives : tuple of Alternative
        Steps looked at, cheapest first; the chosen one leads.
        The costs of the others are those of policies found, or estimates where the problem is large.
    exact : bool
        Whether the plan is the optimum.
    """

    action: Action
    expected_cost: float
    lower: float
    upper: float
    alternatives: tuple[Alternative, ...]
    exact: bool


def plan(problem: DecisionProblem, *, effort: Effort | None = None, exact_branches: int = EXACT_BRANCHES) -> Plan:
    """Return the next action, its expected cost to the end, and bounds on the optimum.

    Parameters
    ----------
    problem : DecisionProblem
    effort : Effort, optional
        How far the rollout goes; by default as far as the size of the problem allows in some 25 ms.
    exact_branches : int
        Branches that the exact solution may look at first; 0 turns it off.
    """
    bench, root, index, information = _looked_at(problem)
    told = _told(bench.model, information)
    ahead = _ahead(bench, index, information)
    tree = rollout(ahead, layer_of(ahead, start(ahead.model)), effort or _affordable(ahead.model))
    proven = evaluate(tree.layers, tree.edges)
    lower, upper = float(root.bound[0]), float(proven.values[0][0])
    solved = exact_tree(bench, root, upper, exact_branches)
    if solved is None:
        return _planned(_step_costs(ahead.model, tree, lower), told, lower, upper, exact=False)
    optimum, costs = float(solved.values[0][0]), _step_costs(ahead.model, proven, lower)
    for action, cost in _step_costs(bench.model, solved, optimum).items():
        costs[action] = min(cost, costs.get(action, np.inf))
    return _planned(costs, told, optimum, optimum, exact=True)


def rollout_tree(problem: DecisionProblem, effort: Effort | None = None) -> tuple[PlanningModel, Tree]:
    """Return the rollout's tree, valued as the policy that it is, and the model that it stands on."""
    bench, _, index, information = _looked_at(problem)
    ahead = _ahead(bench, index, information)
    tree = rollout(ahead, layer_of(ahead, start(ahead.model)), effort or _affordable(ahead.model))
    return ahead.model, evaluate(tree.layers, tree.edges)


def _looked_at(problem: DecisionProblem) -> tuple[Workbench, Layer, Floats, Floats]:
    """The packed problem, the present situation, and index and information of every step in it."""
    bench = workbench(pack(problem))
    root = layer_of(bench, start(bench.model))
    index, information = step_index(bench, root)
    return bench, root, index[0], information[0]


def _ahead(bench: Workbench, index: Floats, information: Floats) -> Workbench:
    return look_ahead(bench, most_promising(bench.model, index, information, MOST_TESTS), MOST_OUTCOMES)


def _affordable(model: PlanningModel) -> Effort:
    """Effort that fits the time: wider and deeper where one situation costs little."""
    size = model.joint.size + 10 * len(model.repairs) * model.joint.shape[0] * model.joint.shape[2]
    if size < SMALL:
        return Effort(widths=(20, 3, 1), situations=3000)
    situations = int(np.clip(WORK // size, 80, 1500))
    if situations >= 1000:
        return Effort(widths=(20, 1), situations=situations)
    # Where few situations can be followed, comparing few steps well beats comparing many badly. The share was set by
    # following plans to the end on drawn cases (60 x 40 x 8, 200 x 120 x 32): estimates met their cost within 2 %.
    return Effort(widths=(6, 1), situations=situations, negligible=2e-3, share=0.1)


def _told(model: PlanningModel, information: Floats) -> dict[Action, float]:
    return dict(zip(_every_action(model), information.tolist(), strict=True))


def _every_action(model: PlanningModel) -> list[Action]:
    """All steps of the model in the problem's numbers: tests, then repairs."""
    return [Action("test", int(t)) for t in model.tests] + [Action("repair", int(r)) for r in model.repairs]


def _step_costs(model: PlanningModel, tree: Tree, lower: float) -> dict[Action, float]:
    """Expected cost to the end of the first repair in order and of each step tried first in the tree."""
    names, root = _every_action(model), tree.layers[0]
    first = chain_order(root.chance, repair_costs(model, root.at.opened))[0, 0]
    costs = {names[len(model.tests) + first]: float(root.chain[0])}
    totals = tree.edges[0].total(tree.values[1]) if tree.edges else np.zeros(0)
    for step, total in zip(tree.edges[0].action.tolist() if tree.edges else [], totals.tolist(), strict=True):
        # An estimate may fall below what no policy can beat; the bound knows better.
        costs[names[step]] = min(max(total, lower), costs.get(names[step], np.inf))
    return costs


def _planned(costs: dict[Action, float], told: dict[Action, float], lower: float, upper: float, *, exact: bool) -> Plan:
    ranked = sorted(costs.items(), key=lambda item: (item[1], item[0]))
    alternatives = tuple(Alternative(action, cost, told[action]) for action, cost in ranked)
    best = alternatives[0]
    return Plan(best.action, best.expected_cost, min(lower, upper), upper, alternatives, exact)
