"""A tree of situations and steps, grown level by level in arrays, and its value from the leaves back.

Every situation may also stop testing and repair in order, so the value of any tree, however sparse, is the expected
cost of a policy that can be carried out: an upper bound on the optimum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.bound import BoundTable, bound_table, perfect_information, price_of_information
from proveout.diagnosis.planner.chain import chain_cost
from proveout.diagnosis.planner.information import InformationTable, information_table
from proveout.diagnosis.planner.model import Beliefs, PlanningModel, repair_costs, test_costs
from proveout.diagnosis.planner.problem import ANY_SETUP

__all__ = ["FAILED", "STOP", "Edges", "Layer", "Tree", "Workbench", "branch", "evaluate", "layer_of", "workbench"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

STOP = -1
FAILED = -1
_IMPOSSIBLE = 1e-12


@dataclass(frozen=True, eq=False)
class Workbench:
    """A model with the tables prepared from it."""

    model: PlanningModel
    information: InformationTable
    bound: BoundTable


@dataclass(frozen=True, eq=False)
class Layer:
    """N situations with the chance (N, R) of each repair and, as (N,) each, the costs that frame the optimum.

    `chain` is the cost of repairing in order, `perfect` that of perfect information, `bound` the lower bound.
    """

    at: Beliefs
    chance: Floats
    chain: Floats
    perfect: Floats
    bound: Floats

    def pick(self, rows: Ints) -> Layer:
        """Return the chosen situations."""
        return Layer(self.at.pick(rows), self.chance[rows], self.chain[rows], self.perfect[rows], self.bound[rows])


@dataclass(frozen=True, eq=False)
class Edges:
    """E steps out of one layer and P branches of them into the next.

    `source` (E,) is the situation, `action` (E,) a test (0 to T-1) or a repair (T and up), `cost` (E,) what the step
    costs now. `edge`, `target`, `weight` (P,) say which step a branch belongs to, where it ends, how likely it is;
    `outcome` (P,) is the test's outcome, `FAILED` for a repair that did not cure. A cure has no branch: it is the end.
    """

    source: Ints
    action: Ints
    cost: Floats
    edge: Ints
    target: Ints
    weight: Floats
    outcome: Ints

    def total(self, value: Floats) -> Floats:
        """(E,) float, cost of each step and of all that follows, where situations of the next layer have `value`."""
        return self.cost + np.bincount(self.edge, self.weight * value[self.target], len(self.cost))

    def pick(self, kept: NDArray[np.bool_]) -> Edges:
        """Return the chosen steps with their branches; targets keep their numbers."""
        number = np.cumsum(kept) - 1
        branches = kept[self.edge]
        return Edges(
            self.source[kept],
            self.action[kept],
            self.cost[kept],
            number[self.edge[branches]],
            self.target[branches],
            self.weight[branches],
            self.outcome[branches],
        )


@dataclass(frozen=True, eq=False)
class Tree:
    """Layers, the steps between them, and per layer the value (N,) and the chosen step (N,), `STOP` for repairing."""

    layers: Sequence[Layer]
    edges: Sequence[Edges]
    values: Sequence[Floats]
    choices: Sequence[Ints]


def workbench(model: PlanningModel) -> Workbench:
    """Prepare the tables of a model."""
    return Workbench(model, information_table(model), bound_table(model))


def layer_of(bench: Workbench, at: Beliefs) -> Layer:
    """Return the situations with the cost of repairing in order and the lower bound."""
    chance = np.add.reduceat(at.belief, bench.model.starts, axis=1)
    chain = chain_cost(bench.model, at, chance)
    perfect = perfect_information(bench.model, bench.bound, at, chance)
    bound = np.minimum(perfect + price_of_information(bench.bound, at, chance), chain)
    return Layer(at, chance, chain, perfect, bound)


def branch(model: PlanningModel, layer: Layer, source: Ints, action: Ints) -> tuple[Edges, Beliefs]:
    """Take each step in its situation: the steps with their branches, and the situations that they lead to.

    Parameters
    ----------
    source, action : (E,) int
        Situation in the layer, and test (0 to T-1) or repair (T and up).
    """
    tests = np.flatnonzero(action < len(model.tests))
    repairs = np.flatnonzero(action >= len(model.tests))
    cost = np.empty(len(source))
    after_tests, edge_t, outcome_t, weight_t, cost[tests] = _after_tests(model, layer, source[tests], action[tests])
    after_repairs, edge_r, weight_r, cost[repairs] = _after_repairs(
        model, layer, source[repairs], action[repairs] - len(model.tests)
    )
    edge = np.concatenate([tests[edge_t], repairs[edge_r]])
    weight = np.concatenate([weight_t, weight_r])
    outcome = np.concatenate([outcome_t, np.full(len(edge_r), FAILED)])
    edges = Edges(source, action, cost, edge, np.arange(len(edge)), weight, outcome)
    return edges, _joined(after_tests, after_repairs)


def evaluate(layers: Sequence[Layer], edges: Sequence[Edges], share: float = 1.0) -> Tree:
    """Value the tree from the leaves back; the chosen step is the cheapest, or `STOP`.

    Parameters
    ----------
    share : float
        Where a situation was not followed, the part of the way from its lower bound to the cost of repairing in order
        at which its value is put. 1, repairing in order, makes every value the cost of a policy; less is an estimate.
    """
    values, choices = [_unfollowed(layers[-1], share)], [np.full(len(layers[-1].chain), STOP)]
    for layer, steps in zip(reversed(layers[: len(edges)]), reversed(edges), strict=True):
        value, choice = _unfollowed(layer, share), np.full(len(layer.chain), STOP)
        total = steps.total(values[-1])
        order = np.lexsort((-total, steps.source))
        # Later writes win, so the cheapest step of each situation comes last.
        cheapest = np.full(len(value), STOP)
        cheapest[steps.source[order]] = order
        has = np.flatnonzero(cheapest != STOP)
        value[has] = layer.chain[has]
        better = has[total[cheapest[has]] < value[has]]
        value[better], choice[better] = total[cheapest[better]], cheapest[better]
        values.append(value)
        choices.append(choice)
    return Tree(layers, edges, values[::-1], choices[::-1])


def _unfollowed(layer: Layer, share: float) -> Floats:
    return layer.chain.copy() if share == 1.0 else layer.bound + share * (layer.chain - layer.bound)


def _after_tests(
    model: PlanningModel, layer: Layer, source: Ints, test: Ints
) -> tuple[Beliefs, Ints, Ints, Floats, Floats]:
    at = layer.at.pick(source)
    raw = at.belief[:, None, :] * model.joint[test].transpose(0, 2, 1)
    weight = raw.sum(axis=2)
    edge, outcome = np.nonzero(weight > _IMPOSSIBLE)
    chance = weight[edge, outcome]
    taken = at.taken.copy()
    taken[np.arange(len(test)), test] = True
    setup = np.where(model.test_setup[test] == ANY_SETUP, at.setup, model.test_setup[test])
    cost = _rowwise_test_cost(model, at, test)
    if model.cures is not None:
        cost = cost + (at.belief * model.cures[test]).sum(axis=1) * model.cure_cost[test]
    opened = at.opened | model.test_access[test]
    after = Beliefs(raw[edge, outcome] / chance[:, None], taken[edge], opened[edge], setup[edge])
    return after, edge, outcome, chance, cost


def _after_repairs(
    model: PlanningModel, layer: Layer, source: Ints, repair: Ints
) -> tuple[Beliefs, Ints, Floats, Floats]:
    at = layer.at.pick(source)
    left = np.where(model.repair_of == repair[:, None], 0.0, at.belief)
    chance = left.sum(axis=1)
    edge = np.flatnonzero(chance > _IMPOSSIBLE)
    opened = at.opened | model.repair_access[repair]
    cost = repair_costs(model, at.opened)[np.arange(len(repair)), repair]
    after = Beliefs(left[edge] / chance[edge, None], at.taken[edge], opened[edge], at.setup[edge])
    return after, edge, chance[edge], cost


def _rowwise_test_cost(model: PlanningModel, at: Beliefs, test: Ints) -> Floats:
    return test_costs(model, at)[np.arange(len(test)), test]


def _joined(one: Beliefs, other: Beliefs) -> Beliefs:
    return Beliefs(
        np.concatenate([one.belief, other.belief]),
        np.concatenate([one.taken, other.taken]),
        np.concatenate([one.opened, other.opened]),
        np.concatenate([one.setup, other.setup]),
    )
