"""The flow chart that is derived from a circuit, made for paper.

At every node stands the step that the planner would advise for the known hypotheses; slips and 'none of these' are left
to one standing sentence. The chart is grown finely and pruned until it fits on paper.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.chart_cost import suspect_mass
from proveout.diagnosis.chart_draft import BRANCH_WORTH, Costing, Draft
from proveout.diagnosis.chart_model import Branch, Chart, ChartEnd, ChartStep, after_step, is_cure, step_minutes, walk
from proveout.diagnosis.chart_numbering import count_steps, numbered
from proveout.diagnosis.chart_pruning import prune
from proveout.diagnosis.decision import Decision, build_decision
from proveout.diagnosis.evidence import BandSeen, Evidence, OutcomeSeen
from proveout.diagnosis.paper_results import (
    FineResults,
    Group,
    fine_results,
    group_results,
    paper_results,
    with_over_limit,
    without_slips,
)
from proveout.diagnosis.planner import Effort, plan
from proveout.diagnosis.repair_chain import MONEY
from proveout.diagnosis.steps import SEEN_AS, Step
from proveout.errors import InputError
from proveout.network.laws import Array

__all__ = ["Branch", "Chart", "ChartEnd", "ChartStep", "after_step", "derive_chart", "step_minutes", "walk"]

STANDING = (
    "A reading outside all bands of a step: take it again. If it stays, stop and check the drawing against the vehicle."
)
MOST_STEPS = 30
PAPER_STEPS = 42  # more no one follows on paper, whatever the last of them would save
UNSETTLED = 0.3  # of that share: enough where the end would be no finding without the step
LEAST_WORTH = 0.0007  # share of the cost of repairing in order that a step must save to have a place on paper at all
MOST_WORTH = 0.0015  # the share from which a step stays, however many there are
TIGHTER = 1.15  # factor on the share from one pruning to the next
RARELY = 0.03  # share of cases from which a node is worth a full look ahead
QUICK = Effort(widths=(6, 1), situations=60, negligible=5e-3, share=0.1)
EDGE_WORTH = 0.1  # of the worth of a branch: what rounding an edge may cost
RARE = 0.002  # a way on that fewer cases take is not followed: they take a neighbour's, or repair in order
DEEPEST = 14


def derive_chart(
    belief: Belief,
    shop: Shop,
    *,
    title: str = "",
    most_steps: int | None = None,
    progress: Callable[[float], None] | None = None,
) -> Chart:
    """Derive the flow chart of a circuit from what is believed now.

    Parameters
    ----------
    belief : Belief
    shop : Shop
    title : str
    most_steps : int, optional
        The chart is pruned until it has no more. By default it fits on paper, or every step left saves much.
    progress : callable, optional
        Called with the share of probability that is settled.

    Raises
    ------
    InputError
        `most_steps` is less than 1.
    """
    if most_steps is not None and most_steps < 1:
        raise InputError(f"a chart of at most {most_steps} steps is none; ask for 1 or more")
    costing = Costing(belief, shop)
    in_order = costing.end(costing.weight, shop)
    whole = float(costing.weight @ in_order.cost[MONEY])
    worth = LEAST_WORTH * whole
    draft = _Growth(costing, worth, progress).node(costing.weight, shop, belief.evidence, 0)
    unsettled = None if most_steps else UNSETTLED * worth
    while count_steps(draft) > (most_steps or MOST_STEPS) and (most_steps or worth < MOST_WORTH * whole):
        worth *= TIGHTER
        draft = prune(costing, draft, costing.weight, shop, worth, unsettled)
    while not most_steps and count_steps(draft) > PAPER_STEPS:
        worth *= TIGHTER
        draft = prune(costing, draft, costing.weight, shop, worth, UNSETTLED * worth)
    draft = costing.reweighed(draft, costing.weight, shop)
    return Chart(title or belief.model.circuit.title, belief, shop, numbered(belief.model, draft), STANDING)


class _Growth:
    def __init__(self, costing: Costing, worth: float, progress: Callable[[float], None] | None) -> None:
        self.costing, self.worth, self.progress = costing, worth, progress
        self.model, self.settled = costing.model, 0.0

    def node(self, weight: Array, shop: Shop, evidence: tuple[Evidence, ...], depth: int) -> Draft:
        """Return the cheaper of repairing in order and of the planner's step with all that follows it."""
        end = self.costing.end(weight, shop)
        least = self.worth if end.settled else UNSETTLED * self.worth
        if depth >= DEEPEST or self.costing.saving(weight, shop, end) < least:
            return self._leaf(end, weight)
        belief = self._belief(weight, evidence)
        decision = self._decision(belief, shop)
        action = plan(decision.problem, effort=QUICK if weight.sum() < RARELY else None).action
        if action.kind == "repair":
            return self._leaf(end, weight)
        draft = self._step(belief, decision.steps[action.index], weight, shop, depth)
        saved = float(weight @ (end.cost - draft.cost)[MONEY])
        return draft if saved > least * draft.steps else end

    def _belief(self, weight: Array, evidence: tuple[Evidence, ...]) -> Belief:
        with np.errstate(divide="ignore"):
            return replace(self.costing.start, log_weight=np.log(weight / weight.sum()), evidence=evidence)

    def _decision(self, belief: Belief, shop: Shop) -> Decision:
        """Return the planner's problem without slips."""
        decision = build_decision(belief, shop)
        tables = zip(decision.steps, decision.problem.likelihood, strict=True)
        likelihood = np.stack([without_slips(self.model, step, table) for step, table in tables])
        return replace(decision, problem=replace(decision.problem, likelihood=likelihood))

    def _step(self, belief: Belief, step: Step, weight: Array, shop: Shop, depth: int) -> Draft:
        fine, then = fine_results(belief, step), after_step(shop, step)
        mass = np.stack([suspect_mass(self.model, weight * c) for c in fine.chances.T])
        groups = with_over_limit(belief, fine, group_results(fine, mass, self.costing.weight @ fine.chances))
        ways = [self._way(fine, group, weight, then, belief.evidence, depth) for group in groups]
        groups, ways = self.costing.shared(fine, groups, ways, weight, (self.worth, UNSETTLED * self.worth))
        listed = fine.chances[:, [o for group in groups for o in group]].sum(axis=1)
        outside = self.costing.outside(weight, listed, then)
        money = np.stack([*(way.cost[MONEY] for way in ways), outside[MONEY]])
        results = paper_results(belief, fine, groups, weight, money, EDGE_WORTH * BRANCH_WORTH * self.worth)
        return self.costing.step(step, shop, results, ways, outside)

    def _way(
        self, fine: FineResults, group: Group, weight: Array, then: Shop, before: tuple[Evidence, ...], depth: int
    ) -> Draft:
        """Return where a group of results leads, before any sharing."""
        arriving = weight * fine.chances[:, list(group)].sum(axis=1)
        seen = _seen(fine, group)
        if is_cure(seen) and not self.model.circuit.trials[fine.step.name].undone:
            return self._leaf(self.costing.end(arriving, then, seen), arriving)
        if arriving.sum() < RARE:
            return self._leaf(self.costing.end(arriving, then), arriving)
        return self.node(arriving, then, (*before, seen), depth + 1)

    def _leaf(self, end: Draft, weight: Array) -> Draft:
        self.settled += float(weight.sum())
        if self.progress is not None:
            self.progress(min(self.settled, 1.0))
        return end


def _seen(fine: FineResults, group: Group) -> Evidence:
    """Return evidence that marks the step as done; which band was seen is in the weights already."""
    if fine.step.kind == "measure":
        return BandSeen(fine.step.name)
    return OutcomeSeen(SEEN_AS[fine.step.kind], fine.step.name, fine.names[group[0]])
