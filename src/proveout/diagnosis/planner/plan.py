"""The next action: exact where the problem is small, by rollout elsewhere, with bounds on its cost to the end."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.base import step_index
from proveout.diagnosis.planner.chain import chain_order
from proveout.diagnosis.planner.exact import exact_tree
from proveout.diagnosis.planner.information import outcomes_by_repair
from proveout.diagnosis.planner.model import PlanningModel, pack, repair_costs, start
from proveout.diagnosis.planner.problem import Action, DecisionProblem
from proveout.diagnosis.planner.reduction import keep_tests, merge_outcomes
from proveout.diagnosis.planner.rollout import Effort, rollout
from proveout.diagnosis.planner.tree import Layer, Tree, Workbench, evaluate, layer_of, workbench

__all__ = ["Alternative", "Plan", "plan"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

EXACT_BRANCHES = 3000
"""Branches that the exact solution may look at before the rollout takes over; about 10 ms."""
MOST_TESTS = 48
MOST_OUTCOMES = 6
SMALL = 5_000
WORK = 16_000_000


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
        Expected cost up to a proven repair when it is done first.
    lower, upper : float
        No policy costs less than `lower`; the policy found costs `upper`.
    alternatives : tuple of Alternative
        Steps looked at, cheapest first; the chosen one leads. An exact plan leaves out what is provably dearer.
    exact : bool
        Whether the plan is the optimum.
    """

    action: Action
    expected_cost: float
    lower: float
    upper: float
    alternatives: tuple[Alternative, ...]
    exact: bool
    tree: Tree = field(repr=False, compare=False)
    bench: Workbench = field(repr=False, compare=False)


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
    model = pack(problem)
    bench = workbench(model)
    root = layer_of(bench, start(model))
    index, information = step_index(bench, root)
    told = _told(model, information[0])
    tree = exact_tree(bench, root, exact_branches) if exact_branches else None
    if tree is not None:
        return _planned(bench, tree, told, float(tree.values[0][0]), exact=True)
    bench, root_again = _look_ahead_on(bench, root, index[0], information[0])
    tree = rollout(bench, root_again, effort or _affordable(bench.model))
    return _planned(bench, tree, told, float(root.bound[0]), exact=False)


def _look_ahead_on(bench: Workbench, root: Layer, index: Floats, information: Floats) -> tuple[Workbench, Layer]:
    """The bench for the rollout: the same one if small enough, else with fewer tests and outcomes."""
    model = bench.model
    tests = len(model.tests)
    if tests <= MOST_TESTS and model.joint.shape[2] <= MOST_OUTCOMES:
        return bench, root
    chosen = np.arange(tests)
    if tests > MOST_TESTS:
        by_index, by_information = np.argsort(-index[:tests]), np.argsort(-information[:tests])
        both = np.stack([by_index, by_information], axis=1).ravel()
        _, first = np.unique(both, return_index=True)
        chosen = np.sort(both[np.sort(first)[:MOST_TESTS]])
    by_repair = np.stack(
        [
            outcomes_by_repair(bench.information, model.prior.astype(np.float32)[None], r)[0]
            for r in range(len(model.repairs))
        ]
    )
    by_repair = by_repair.reshape(len(model.repairs), tests, -1)[:, chosen].transpose(1, 2, 0)
    bench = workbench(merge_outcomes(keep_tests(model, chosen), np.ascontiguousarray(by_repair), MOST_OUTCOMES))
    return bench, layer_of(bench, start(bench.model))


def _affordable(model: PlanningModel) -> Effort:
    """Effort that fits the time: wider and deeper where one situation costs little."""
    size = model.joint.size + 10 * len(model.repairs) * model.joint.shape[0] * model.joint.shape[2]
    if size < SMALL:
        return Effort(widths=(20, 3, 1), situations=3000)
    situations = int(np.clip(WORK // size, 80, 1500))
    if situations >= 1000:
        return Effort(widths=(20, 1), situations=situations)
    # Where few situations can be followed, comparing few steps well beats comparing many badly.
    return Effort(widths=(6, 1), situations=situations, negligible=2e-3, share=0.1)


def _told(model: PlanningModel, information: Floats) -> dict[Action, float]:
    return dict(zip(_every_action(model), information.tolist(), strict=True))


def _every_action(model: PlanningModel) -> list[Action]:
    """All steps of the model in the problem's numbers: tests, then repairs."""
    return [Action("test", int(t)) for t in model.tests] + [Action("repair", int(r)) for r in model.repairs]


def _planned(bench: Workbench, tree: Tree, told: dict[Action, float], lower: float, *, exact: bool) -> Plan:
    names = _every_action(bench.model)
    root = tree.layers[0]
    first = chain_order(root.chance, repair_costs(bench.model, root.at.opened))[0, 0]
    costs = {names[len(bench.model.tests) + first]: float(root.chain[0])}
    if tree.edges:
        totals = tree.edges[0].total(tree.values[1])
        for step, total in zip(tree.edges[0].action.tolist(), totals.tolist(), strict=True):
            # An estimate may fall below what no policy can beat; the bound knows better.
            costs[names[step]] = min(max(total, lower), costs.get(names[step], np.inf))
    ranked = sorted(costs.items(), key=lambda item: (item[1], item[0]))
    alternatives = tuple(Alternative(action, cost, told[action]) for action, cost in ranked)
    best, upper = alternatives[0], float(evaluate(tree.layers, tree.edges).values[0][0])
    cost = best.expected_cost
    return Plan(best.action, cost, min(lower, upper), upper, alternatives, exact, tree, bench)
