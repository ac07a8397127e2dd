"""The chance within the authorised minutes and money, against cases played one by one along the same tree."""

from __future__ import annotations

import time

import numpy as np
import pytest
from numpy.typing import NDArray

from diagnosis.ready import model
from proveout.diagnosis import Belief, Shop
from proveout.diagnosis.authorised import COARSE, chance_authorised, endings, in_minutes_and_money
from proveout.diagnosis.decision import build_decision
from proveout.diagnosis.planner.model import PlanningModel
from proveout.diagnosis.planner.plan import rollout_tree
from proveout.diagnosis.planner.tree import STOP, Tree

DRAWN = 3000


class Played:
    """One vehicle taken along the tree, with its own book-keeping of what is open and spent."""

    def __init__(self, tree: Tree, deciding: PlanningModel, units: tuple[PlanningModel, PlanningModel]) -> None:
        self.tree, self.deciding, self.units = tree, deciding, units

    def spent(self, rng: np.random.Generator) -> NDArray[np.float64]:
        """Draw a vehicle and return the minutes and money up to its cure."""
        m = self.deciding
        particle = int(rng.choice(len(m.prior), p=m.prior))
        opened, setup, situation, spent = m.opened.copy(), m.setup, 0, np.zeros(2)
        for depth in range(len(self.tree.layers)):
            choice = int(self.tree.choices[depth][situation])
            if choice == STOP:
                return spent + self._in_order(depth, situation, particle, opened)
            edges = self.tree.edges[depth]
            action = int(edges.action[choice])
            test = action < len(m.tests)
            repair = action - len(m.tests)
            needed = m.test_access[action] if test else m.repair_access[repair]
            for n, unit in enumerate(self.units):
                own = unit.test_cost[action] if test else unit.repair_cost[repair]
                spent[n] += own + unit.access_cost[needed & ~opened].sum()
                if test and m.test_setup[action] not in (-1, setup):
                    spent[n] += unit.setup_cost[m.test_setup[action]]
            opened |= needed
            if test and m.test_setup[action] != -1:
                setup = int(m.test_setup[action])
            branches = np.flatnonzero(edges.edge == choice)
            if test:
                chances = m.joint[action, particle]
                outcome = int(rng.choice(len(chances) + 1, p=[*chances, max(0.0, 1.0 - chances.sum())]))
                if outcome == len(chances):
                    return spent + np.array([unit.cure_cost[action] for unit in self.units])
                branches = branches[edges.outcome[branches] == outcome]
            elif m.repair_of[particle] == repair:
                return spent
            situation = int(edges.target[branches[0]])
        raise AssertionError("the tree ends without repairing")

    def _in_order(self, depth: int, situation: int, particle: int, opened: NDArray[np.bool_]) -> NDArray[np.float64]:
        m, belief = self.deciding, self.tree.layers[depth].at.belief[situation]
        chance = np.bincount(m.repair_of, belief, len(m.repair_cost))
        cost = m.repair_cost + m.repair_access @ (m.access_cost * ~opened)
        spent = np.zeros(2)
        for repair in np.argsort(-chance / cost, kind="stable"):
            for n, unit in enumerate(self.units):
                spent[n] += unit.repair_cost[repair] + unit.access_cost[m.repair_access[repair] & ~opened].sum()
            opened = opened | m.repair_access[repair]
            if m.repair_of[particle] == repair:
                break
        return spent


@pytest.mark.parametrize("name", ["pressure-3wire", "fuel-pump"])
def test_the_chance_is_that_of_cases_played_one_by_one(name: str) -> None:
    belief, shop, rng = Belief.start(model(name)), Shop(), np.random.default_rng(5)
    decision = build_decision(belief, shop)
    deciding, tree = rollout_tree(decision.problem, COARSE)
    units = in_minutes_and_money(deciding, belief, decision, shop)
    played = Played(tree, deciding, units)
    drawn = np.array([played.spent(rng) for _ in range(DRAWN)])
    found = endings(tree, deciding, units)
    assert found.chance.sum() == pytest.approx(1.0, abs=1e-9)
    for share in (0.25, 0.5, 0.75):
        minutes, money = np.quantile(drawn, share, axis=0) * 1.0001
        inside = np.mean((drawn[:, 0] <= minutes) & (drawn[:, 1] <= money))
        error = np.sqrt(inside * (1.0 - inside) / DRAWN)
        assert found.within(float(minutes), float(money)) == pytest.approx(inside, abs=4.0 * error)


def test_nothing_limited_says_nothing() -> None:
    belief, shop = Belief.start(model("pressure-3wire")), Shop()
    assert chance_authorised(belief, build_decision(belief, shop), shop) is None


def test_more_authorised_is_never_a_smaller_chance_and_both_limits_hold() -> None:
    belief = Belief.start(model("pressure-3wire"))
    decision = build_decision(belief, Shop())

    def chance(minutes: float | None, money: float | None) -> float:
        found = chance_authorised(belief, decision, Shop(minutes_left=minutes, money_left=money))
        assert found is not None
        return found

    by_minutes = [chance(limit, None) for limit in (0.0, 30.0, 60.0, 120.0, 100_000.0)]
    assert by_minutes == sorted(by_minutes)
    assert by_minutes[0] == 0.0
    assert by_minutes[-1] == pytest.approx(1.0, abs=1e-9)
    assert chance(60.0, 80.0) <= min(chance(60.0, None), chance(None, 80.0))


def test_a_wrong_repairs_price_is_the_shops_and_not_the_customers_bill() -> None:
    belief = Belief.start(model("pressure-3wire"))
    shop = Shop(wrong_repair=150.0)
    decision = build_decision(belief, shop)
    deciding, _ = rollout_tree(decision.problem, COARSE)
    _, money = in_minutes_and_money(deciding, belief, decision, shop)
    assert np.allclose(deciding.repair_cost - money.repair_cost, 150.0)


@pytest.mark.slow
def test_the_chance_is_cheap() -> None:
    belief, shop = Belief.start(model("pressure-3wire")), Shop(minutes_left=60.0)
    decision = build_decision(belief, shop)
    times = []
    for _ in range(9):
        begun = time.process_time()
        chance_authorised(belief, decision, shop)
        times.append(time.process_time() - begun)
    # Four times the 15 ms that it takes on an idle machine.
    assert np.median(times) < 0.06
