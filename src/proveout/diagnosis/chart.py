"""The flow chart that is derived from a circuit, made for paper.

At every node stands the step that the planner would advise for the known hypotheses; slips and 'none of these' are left
to one standing sentence. From the ends back, results share a way on, bands join, and steps give way to repairing in
order wherever that costs less than the steps' place on paper is worth: cost-complexity pruning (Breiman, Friedman,
Olshen and Stone, 1984, "Classification and regression trees", chapter 3) with money in place of misclassification.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import permutations

import numpy as np
import numpy.typing as npt

from proveout.diagnosis.advice_model import Opinion, Shop
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.chart_cost import cost_from_end, cured_for_good, known_weight, suspect_mass
from proveout.diagnosis.chart_model import Branch, Chart, ChartEnd, ChartStep, after_step, is_cure, step_minutes, walk
from proveout.diagnosis.decision import Outcomes, build_decision, step_outcomes
from proveout.diagnosis.evidence import BandSeen, Evidence, OutcomeSeen
from proveout.diagnosis.model import Model
from proveout.diagnosis.paper_results import (
    FineResults,
    Group,
    PaperResult,
    fine_results,
    group_results,
    may_join,
    paper_results,
    with_over_limit,
    without_slips,
)
from proveout.diagnosis.planner import plan
from proveout.diagnosis.repair_chain import MINUTES, MONEY, chain, repair_prices
from proveout.diagnosis.steps import SEEN_AS, Step
from proveout.network.laws import Array

__all__ = ["Branch", "Chart", "ChartEnd", "ChartStep", "after_step", "derive_chart", "step_minutes", "walk"]

STANDING = (
    "A reading outside all bands of a step: take it again. If it stays, stop and check the drawing against the vehicle."
)
STEP_WORTH = 0.002  # share of the cost of repairing in order that a step must save to have its place on paper
BRANCH_WORTH = 0.2  # of that share, for one more result told apart
RARE = 0.002  # a way on that fewer cases take is not followed: they take a neighbour's, or repair in order
DEEPEST = 14
SHOWN = 0.05  # probability from which a suspect left counts in telling two ends apart

Index = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class _Draft:
    """A node that has no number yet: its cost up to the cure under each hypothesis (2, H), its steps, its results.

    An end has no step; `mass` (S,) is what arrives at it, `title` and `suspect` what it says.
    """

    cost: Array
    steps: int
    step: Step | None = None
    minutes: float = 0.0
    results: tuple[PaperResult, ...] = ()
    ways: tuple[_Draft, ...] = ()
    suspect: str = ""
    title: str = ""
    mass: Array | None = None
    order: tuple[int, ...] = ()


def derive_chart(
    belief: Belief, shop: Shop, *, title: str = "", progress: Callable[[float], None] | None = None
) -> Chart:
    """Derive the flow chart of a circuit from what is believed now.

    Parameters
    ----------
    belief : Belief
    shop : Shop
    title : str
    progress : callable, optional
        Called with the share of probability that is settled.
    """
    root = _Derivation(belief, shop, progress).root()
    return Chart(title or belief.model.circuit.title, belief, shop, _Numbering(belief.model).node(root), STANDING)


class _Derivation:
    def __init__(self, belief: Belief, shop: Shop, progress: Callable[[float], None] | None) -> None:
        self.start, self.shop, self.progress = belief, shop, progress
        self.model: Model = belief.model
        self.prices = repair_prices(belief.model, shop)
        self.weight = known_weight(belief)
        self.settled = 0.0
        self.worth = 0.0

    def root(self) -> _Draft:
        in_order = self._end(self.weight, self.shop)
        self.worth = STEP_WORTH * float(self.weight @ in_order.cost[MONEY])
        return self._node(self.weight, self.shop, self.start.evidence, 0)

    def _node(self, weight: Array, shop: Shop, evidence: tuple[Evidence, ...], depth: int) -> _Draft:
        """Return the cheaper of repairing in order and of the planner's step with all that follows it."""
        end = self._end(weight, shop)
        if depth >= DEEPEST or self._saving(weight, shop, end) < self.worth:
            return self._leaf(end, weight)
        belief = self._belief(weight, evidence)
        decision = build_decision(belief, shop, self._results_of(belief))
        action = plan(decision.problem).action
        if action.kind == "repair":
            return self._leaf(end, weight)
        draft = self._step(belief, decision.steps[action.index], weight, shop, depth)
        saved = float(weight @ (end.cost - draft.cost)[MONEY])
        return draft if saved > self.worth * draft.steps else end

    def _saving(self, weight: Array, shop: Shop, end: _Draft) -> float:
        """Return what knowing the fault could save against repairing in order."""
        mass = suspect_mass(self.model, weight)
        known = [chain(self.prices, mass, shop.opened, k)[1][MONEY, k] if mass[k] > 0 else 0.0 for k in range(len(mass))]
        return float(weight @ end.cost[MONEY] - mass @ np.array(known))

    def _belief(self, weight: Array, evidence: tuple[Evidence, ...]) -> Belief:
        with np.errstate(divide="ignore"):
            return replace(self.start, log_weight=np.log(weight / weight.sum()), evidence=evidence)

    def _results_of(self, belief: Belief) -> Callable[[Step, Index], Outcomes]:
        return lambda step, kept: without_slips(self.model, step, step_outcomes(belief, step, kept))

    def _step(self, belief: Belief, step: Step, weight: Array, shop: Shop, depth: int) -> _Draft:
        fine, then = fine_results(belief, step), after_step(shop, step)
        mass = np.stack([suspect_mass(self.model, weight * c) for c in fine.chances.T])
        groups = with_over_limit(belief, fine, group_results(fine, mass))
        ways = [self._way(fine, group, weight, then, belief.evidence, depth) for group in groups]
        groups, ways = self._shared(fine, groups, ways, weight)
        chances = fine.chances[:, sorted(o for group in groups for o in group)].sum(axis=1)
        outside = self._end(weight * np.maximum(1.0 - chances, 1e-9), then).cost
        money = np.stack([*(way.cost[MONEY] for way in ways), outside[MONEY]])
        results = paper_results(belief, fine, groups, weight, money, 0.1 * BRANCH_WORTH * self.worth)
        minutes = step_minutes(self.model, shop, step)
        return self._joined_cost(step, minutes, results, ways, outside)

    def _way(
        self, fine: FineResults, group: Group, weight: Array, then: Shop, before: tuple[Evidence, ...], depth: int
    ) -> _Draft:
        """Return where a group of results leads, before any sharing."""
        arriving = weight * fine.chances[:, list(group)].sum(axis=1)
        step = fine.step
        seen: Evidence = (
            BandSeen(step.name)
            if step.kind == "measure"
            else OutcomeSeen(SEEN_AS[step.kind], step.name, fine.names[group[0]])
        )
        if is_cure(seen) and not self.model.circuit.trials[step.name].undone:
            return self._leaf(self._end(arriving, then, cured=seen), arriving)
        if arriving.sum() < RARE:
            return self._leaf(self._end(arriving, then), arriving)
        return self._node(arriving, then, (*before, seen), depth + 1)

    def _shared(
        self, fine: FineResults, groups: Sequence[Group], ways: Sequence[_Draft], weight: Array
    ) -> tuple[list[Group], list[_Draft]]:
        """Let groups take another group's way where their own saves less than its place on paper is worth."""
        left = dict(zip(groups, ways, strict=True))
        while len(left) > 1:
            gains = [(self._gain(fine, left, a, b, weight), a, b) for a, b in permutations(left, 2)]
            gain, a, b = max(gains, key=lambda entry: entry[0])
            if gain <= 0.0:
                break
            left[tuple(sorted(a + b))] = left[b]
            del left[a], left[b]
        ordered = sorted(left)
        return ordered, [left[g] for g in ordered]

    def _gain(self, fine: FineResults, ways: dict[Group, _Draft], a: Group, b: Group, weight: Array) -> float:
        """Return what the chart gains when group `a` takes the way of group `b`."""
        if not may_join(fine, a, b):
            return -np.inf
        arriving = weight * fine.chances[:, list(a)].sum(axis=1)
        dearer = float(arriving @ (ways[b].cost - ways[a].cost)[MONEY])
        return self.worth * (ways[a].steps + BRANCH_WORTH) - dearer

    def _joined_cost(
        self, step: Step, minutes: float, results: tuple[PaperResult, ...], ways: Sequence[_Draft], outside: Array
    ) -> _Draft:
        own = np.empty((2, 1))
        own[MINUTES], own[MONEY] = minutes, minutes * self.prices.per_minute + step.parts
        listed = sum(r.chances for r in results)
        cost = own + sum(r.chances * ways[r.group].cost for r in results) + (1.0 - listed) * outside
        return _Draft(np.asarray(cost), 1 + sum(w.steps for w in ways), step, minutes, results, tuple(ways))

    def _end(self, weight: Array, shop: Shop, cured: Evidence | None = None) -> _Draft:
        model = self.model
        mass = suspect_mass(model, weight)
        order, _ = chain(self.prices, mass, shop.opened)
        first = int(mass.argmax()) if cured else order[0]
        suspect = model.suspects[first]
        cost = cost_from_end(model, self.prices, weight, shop.opened, suspect.name)
        gone = cured_for_good(self.start, cured) if cured else None
        title = suspect.repair.title if gone is None else f"Cured for good: {suspect.title}. Leave it so and prove it"
        cost = cost if gone is None else cost * (1.0 - gone)
        return _Draft(cost, 0, suspect=suspect.name, title=title, mass=mass, order=tuple(order))

    def _leaf(self, end: _Draft, weight: Array) -> _Draft:
        self.settled += float(weight.sum())
        if self.progress is not None:
            self.progress(min(self.settled, 1.0))
        return end


class _Numbering:
    """Numbers the nodes in reading order; nodes that say the same and lead to the same are one."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.mass: dict[object, Array] = {}
        self.made: dict[object, ChartStep | ChartEnd] = {}
        self.count = 0

    def node(self, draft: _Draft) -> ChartStep | ChartEnd:
        self._pool(draft)
        return self._make(draft)

    def _pool(self, draft: _Draft) -> None:
        """Add up what arrives at each end over all the paths that share it."""
        if draft.mass is not None:
            key = self._key(draft)
            self.mass[key] = self.mass.get(key, np.zeros_like(draft.mass)) + draft.mass
        for way in draft.ways:
            self._pool(way)

    def _key(self, draft: _Draft) -> object:
        if draft.step is None:
            share = draft.mass / max(draft.mass.sum(), 1e-300) if draft.mass is not None else np.zeros(0)
            return (draft.suspect, draft.title, tuple(k for k in draft.order if share[k] > SHOWN))
        results = tuple((r.evidence, self._key(draft.ways[r.group])) for r in draft.results)
        return (draft.step.kind, draft.step.name, round(draft.minutes, 6), results)

    def _make(self, draft: _Draft) -> ChartStep | ChartEnd:
        key = self._key(draft)
        if key in self.made:
            return self.made[key]
        self.count += 1
        number = self.count
        if draft.step is None:
            found: ChartStep | ChartEnd = ChartEnd(number, draft.suspect, draft.title, self._left(draft, key))
        else:
            branches = tuple(
                Branch(r.label, r.evidence, r.chances, self._make(draft.ways[r.group])) for r in draft.results
            )
            found = ChartStep(number, draft.step, draft.minutes, branches)
        self.made[key] = found
        return found

    def _left(self, draft: _Draft, key: object) -> tuple[Opinion, ...]:
        mass = self.mass[key]
        share = mass / max(mass.sum(), 1e-300)
        first = self.model.suspect_index[draft.suspect]
        order = [first, *(k for k in draft.order if k != first and share[k] > 0.02)]
        suspects = self.model.suspects
        return tuple(Opinion(suspects[k].name, suspects[k].title, float(share[k])) for k in order[:4])
