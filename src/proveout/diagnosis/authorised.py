"""The chance that the repair that cures is done and proven within the time and money that the customer authorised.

The policy followed is a coarse one of the planner's: a small rollout whose tree takes outcomes that mean nearly the
same as one, and repairing in order where the tree ends. Who goes on asking for advice after every reading does as well
or better. Minutes and money are counted together, since a case must keep within both.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.decision import Decision
from proveout.diagnosis.planner import Effort
from proveout.diagnosis.planner.chain import chain_order
from proveout.diagnosis.planner.model import PlanningModel, repair_costs, test_costs
from proveout.diagnosis.planner.plan import rollout_tree
from proveout.diagnosis.planner.tree import STOP, Edges, Layer, Tree
from proveout.diagnosis.repair_chain import MINUTES, MONEY, repair_prices
from proveout.network.laws import Array

__all__ = ["COARSE", "Endings", "chance_authorised", "endings"]

COARSE = Effort(widths=(2, 1), situations=40, negligible=1e-2)
SLACK = 1e-9

Index = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Endings:
    """How cases end with the repair that cures: chance (N,), and minutes and money spent by then, (N, 2)."""

    chance: Array
    spent: Array

    def within(self, minutes: float | None, money: float | None) -> float:
        """Return the probability of ending within both; None is no limit."""
        most = np.array([np.inf if limit is None else limit for limit in (minutes, money)])
        kept = np.all(self.spent <= most * (1.0 + SLACK) + SLACK, axis=1)
        return float(min(1.0, self.chance[kept].sum()))


def chance_authorised(belief: Belief, decision: Decision, shop: Shop) -> float | None:
    """Return the probability of a proven repair within what the customer authorised, None where nothing is limited."""
    if shop.minutes_left is None and shop.money_left is None:
        return None
    model, tree = rollout_tree(decision.problem, COARSE)
    return endings(tree, model, in_minutes_and_money(model, belief, decision, shop)).within(
        shop.minutes_left, shop.money_left
    )


def in_minutes_and_money(
    model: PlanningModel, belief: Belief, decision: Decision, shop: Shop
) -> tuple[PlanningModel, PlanningModel]:
    """Return the model with its costs in minutes, and in the money that the customer pays: work and parts."""
    circuit, prices = belief.model.circuit, repair_prices(belief.model, shop)
    own = np.array([[step.minutes, step.minutes * prices.per_minute + step.parts] for step in decision.steps])
    repair = np.stack([prices.minutes, prices.minutes * prices.per_minute + prices.parts], axis=1)
    cure = _cure_costs(belief, decision, repair)
    setups = np.array([setup.minutes for setup in circuit.setups.values()])
    minutes, money = (
        replace(
            model,
            test_cost=own[model.tests, unit],
            setup_cost=setups * factor,
            access_cost=prices.access_minutes * factor,
            repair_cost=repair[model.repairs, unit],
            cure_cost=cure[model.tests, unit],
        )
        for unit, factor in ((MINUTES, 1.0), (MONEY, prices.per_minute))
    )
    return minutes, money


def _cure_costs(belief: Belief, decision: Decision, repair: Array) -> Array:
    """Return what a cure by each test still takes, (T, 2): the repair of what it cured, nothing where it lasts."""
    problem, trials = decision.problem, belief.model.circuit.trials
    cured = problem.prior * (problem.cures if problem.cures is not None else np.zeros(problem.likelihood.shape[:2]))
    cost = cured @ repair[problem.repair_of] / np.maximum(cured.sum(axis=1, keepdims=True), 1e-12)
    lasting = [step.kind == "try" and trials[step.name].lasting for step in decision.steps]
    return np.where(np.array(lasting, dtype=bool)[:, None], 0.0, cost)


@dataclass(frozen=True)
class _Cases:
    """Cases under way in one layer: situation (K,), chance (K,), minutes and money spent (K, 2)."""

    situation: Index
    chance: Array
    spent: Array

    def pick(self, rows: npt.NDArray[np.bool_]) -> _Cases:
        return _Cases(self.situation[rows], self.chance[rows], self.spent[rows])


def endings(tree: Tree, model: PlanningModel, units: tuple[PlanningModel, PlanningModel]) -> Endings:
    """Follow the tree's choices through all outcomes, counting in two units at once.

    Parameters
    ----------
    tree : Tree
    model : PlanningModel
        What the tree stands on; its costs decide the order of repairs.
    units : tuple of PlanningModel
        The same model with costs in minutes and in money.
    """
    cases = _Cases(np.zeros(1, dtype=np.int64), np.ones(1), np.zeros((1, 2)))
    found: list[tuple[Array, Array]] = []
    for depth, layer in enumerate(tree.layers):
        choice = tree.choices[depth][cases.situation]
        found.append(_repaired(model, units, layer, cases.pick(choice == STOP)))
        if depth < len(tree.edges):
            going = choice != STOP
            cases, cured = _stepped(units, layer, tree.edges[depth], cases.pick(going), choice[going])
            found.append(cured)
    chance, spent = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return Endings(chance, spent)


def _stepped(
    units: tuple[PlanningModel, PlanningModel], layer: Layer, edges: Edges, cases: _Cases, step: Index
) -> tuple[_Cases, tuple[Array, Array]]:
    """Take each case's step; return the cases that go on, and chance and spending of those that it cures."""
    at, action = layer.at.pick(cases.situation), edges.action[step]
    rows = np.arange(len(action))
    own = [np.concatenate([test_costs(u, at), repair_costs(u, at.opened)], axis=1)[rows, action] for u in units]
    spent = cases.spent + np.stack(own, axis=1)
    number, branches = np.nonzero(step[:, None] == edges.edge)
    following = _Cases(edges.target[branches], cases.chance[number] * edges.weight[branches], spent[number])
    cured = np.maximum(cases.chance - np.bincount(number, following.chance, len(step)), 0.0)
    after = [np.concatenate([u.cure_cost, np.zeros(len(u.repairs))])[action] for u in units]
    return following, (cured, spent + np.stack(after, axis=1))


def _repaired(
    model: PlanningModel, units: tuple[PlanningModel, PlanningModel], layer: Layer, cases: _Cases
) -> tuple[Array, Array]:
    """Return chance (K * R,) and spending (K * R, 2) of ending with each repair, in the model's order."""
    opened, chance = layer.at.opened[cases.situation], layer.chance[cases.situation]
    order = chain_order(chance, repair_costs(model, opened))
    needed = np.logical_or.accumulate(model.repair_access[order], axis=1) & ~opened[:, None, :]
    running = [np.cumsum(u.repair_cost[order], axis=1) + needed @ u.access_cost for u in units]
    ending = cases.chance[:, None] * np.take_along_axis(chance, order, axis=1)
    spent = cases.spent[:, None, :] + np.stack(running, axis=2)
    return ending.ravel(), spent.reshape(-1, 2)
