"""A chart in the making: nodes without numbers, what they cost, and which results share a way on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.chart_cost import cost_from_end, cured_for_good, known_weight, suspect_mass
from proveout.diagnosis.chart_model import after_step, step_minutes
from proveout.diagnosis.evidence import Evidence
from proveout.diagnosis.faults import Suspect
from proveout.diagnosis.paper_results import FineResults, Group, PaperResult, may_join
from proveout.diagnosis.repair_chain import MINUTES, MONEY, chain, repair_money, repair_prices
from proveout.diagnosis.steps import Step
from proveout.network.laws import Array

__all__ = ["BRANCH_WORTH", "Costing", "Draft"]

BRANCH_WORTH = 0.2  # of the worth of a step: what one more result told apart must save
SETTLED = 0.6  # probability of the suspect named from which an end is a finding
NOT_SETTLED = "Not settled on paper: go on with the advice; if it must be repaired now, in this order:"
GONE = "Gone, perhaps by itself: leave it so and prove it; if it comes back, go on with the advice. What it was:"


@dataclass(frozen=True, eq=False)
class Draft:
    """A node: its cost up to the cure under each hypothesis (2, H), and the number of steps from it on.

    A step has `results`, each with the number of the way it takes among `ways`. An end has no step; `mass` (S,) is what
    arrives at it, `suspect` and `title` what it says, `order` the repairs in order, `cured` the trial that led to it;
    it is `settled` where it is a finding.
    """

    cost: Array
    steps: int
    step: Step | None = None
    minutes: float = 0.0
    results: tuple[PaperResult, ...] = ()
    ways: tuple[Draft, ...] = ()
    suspect: str = ""
    title: str = ""
    mass: Array | None = None
    order: tuple[int, ...] = ()
    cured: Evidence | None = None
    settled: bool = True


class Costing:
    """Makes nodes of a chart that starts from one belief in one shop, each with its cost."""

    def __init__(self, start: Belief, shop: Shop) -> None:
        self.start, self.model = start, start.model
        self.prices = repair_prices(start.model, shop)
        self.weight = known_weight(start)

    def end(self, weight: Array, shop: Shop, cured: Evidence | None = None) -> Draft:
        """Return the end that repairs in order what arrives with `weight` (H,), after a trial's cure the likeliest."""
        model, mass = self.model, suspect_mass(self.model, weight)
        gone = cured_for_good(self.start, cured) if cured else None
        by_trial = suspect_mass(model, weight * gone) if gone is not None else np.zeros_like(mass)
        through_it = bool(by_trial.sum() >= SETTLED * mass.sum())
        first = int((by_trial if through_it else mass).argmax()) if cured else -1
        order = chain(self.prices, mass, shop.opened, first)[0]
        suspect = model.suspects[order[0]]
        cost = cost_from_end(model, self.prices, weight, shop.opened, suspect.name)
        settled = through_it if gone is not None else bool(mass[order[0]] >= SETTLED * mass.sum())
        title = _title(suspect, settled, lasting=gone is not None)
        cost = cost if gone is None else cost * (1.0 - gone)
        return Draft(
            cost, 0, suspect=suspect.name, title=title, mass=mass, order=tuple(order), cured=cured, settled=settled
        )

    def step(
        self, step: Step, shop: Shop, results: Sequence[PaperResult], ways: Sequence[Draft], outside: Array
    ) -> Draft:
        """Return a step; `outside` (2, H) is what a reading outside all its bands costs from there."""
        minutes = step_minutes(self.model, shop, step)
        own = np.empty((2, 1))
        own[MINUTES], own[MONEY] = minutes, minutes * self.prices.per_minute + step.parts
        listed = sum(r.chances for r in results)
        cost = own + sum(r.chances * ways[r.group].cost for r in results) + (1.0 - listed) * outside
        steps = 1 + sum(way.steps for way in ways)
        return Draft(np.asarray(cost), steps, step, minutes, tuple(results), tuple(ways))

    def outside(self, weight: Array, chances: Array, then: Shop) -> Array:
        """Return the cost from a reading outside all bands, (2, H); `chances` (H,) are those of a reading inside."""
        return self.end(weight * np.maximum(1.0 - chances, 1e-9), then).cost

    def saving(self, weight: Array, shop: Shop, end: Draft) -> float:
        """Return what knowing the fault could save against repairing in order."""
        known = repair_money(self.prices, shop.opened)
        return float(weight @ end.cost[MONEY] - suspect_mass(self.model, weight) @ known)

    def shared(
        self,
        fine: FineResults,
        groups: Sequence[Group],
        ways: Sequence[Draft],
        weight: Array,
        worth: tuple[float, float],
    ) -> tuple[list[Group], list[Draft]]:
        """Let groups of results take another's way where their own saves less than its place on paper is worth.

        `worth` is that of a step, and of one that would give way to an end that is no finding.
        """
        left = dict(zip(groups, ways, strict=True))
        while len(left) > 1:
            gains = [(self._gain(fine, left, a, b, weight, worth), a, b) for a, b in permutations(left, 2)]
            gain, a, b = max(gains, key=lambda entry: entry[0])
            if gain <= 0.0:
                break
            way = left[b]
            del left[a], left[b]
            left[tuple(sorted(a + b))] = way
        ordered = sorted(left)
        return ordered, [left[g] for g in ordered]

    def reweighed(self, draft: Draft, weight: Array, shop: Shop) -> Draft:
        """Return the same steps with every end as it is for all that arrives there, shared ways included."""
        if draft.step is None:
            return self.end(weight, shop, draft.cured)
        then, results = after_step(shop, draft.step), draft.results
        arriving = [weight * sum(r.chances for r in results if r.group == g) for g in range(len(draft.ways))]
        ways = [self.reweighed(way, w, then) for way, w in zip(draft.ways, arriving, strict=True)]
        outside = self.outside(weight, np.sum([r.chances for r in results], axis=0), then)
        return self.step(draft.step, shop, results, ways, outside)

    def _gain(
        self, fine: FineResults, ways: dict[Group, Draft], a: Group, b: Group, weight: Array, worth: tuple[float, float]
    ) -> float:
        """Return what the chart gains when group `a` takes the way of group `b`."""
        if not may_join(fine, a, b):
            return -np.inf
        arriving = weight * fine.chances[:, list(a)].sum(axis=1)
        dearer = float(arriving @ (ways[b].cost - ways[a].cost)[MONEY])
        return worth[not ways[b].settled] * (ways[a].steps + BRANCH_WORTH) - dearer


def _title(suspect: Suspect, settled: bool, *, lasting: bool) -> str:
    """Return what an end says; `lasting` is a trial's cure that may stay as it is."""
    if lasting:
        return f"Cured: {suspect.title}. Leave it so and prove it" if settled else GONE
    return suspect.repair.title if settled else NOT_SETTLED
