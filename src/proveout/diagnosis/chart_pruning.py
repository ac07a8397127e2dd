"""Pruning a drafted chart: steps give way where they save less than their place on paper is worth.

Cost-complexity pruning (Breiman, Friedman, Olshen and Stone, 1984, "Classification and regression trees", chapter 3)
with expected cost up to the cure in place of misclassification: from the ends back, results share a way on, bands join,
and a step gives way to repairing in order.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.chart_draft import Costing, Draft
from proveout.diagnosis.chart_model import after_step
from proveout.diagnosis.evidence import BandSeen, OutcomeSeen
from proveout.diagnosis.paper_results import FineResults, Group, PaperResult, band_text
from proveout.diagnosis.repair_chain import MONEY
from proveout.diagnosis.steps import Step
from proveout.network.laws import Array

__all__ = ["prune"]


def prune(
    costing: Costing, draft: Draft, weight: Array, shop: Shop, worth: float, unsettled: float | None = None
) -> Draft:
    """Return the draft in which every step saves at least `worth` money a case.

    Parameters
    ----------
    weight : (H,) float
        What arrives at the draft's root.
    unsettled : float, optional
        What a step must save instead where the end in its place would be no finding. By default `worth` too.
    """
    end = costing.end(weight, shop, draft.cured)
    if draft.step is None:
        return end
    then, results = after_step(shop, draft.step), draft.results
    arriving = [weight * sum(r.chances for r in results if r.group == g) for g in range(len(draft.ways))]
    ways = [prune(costing, way, w, then, worth, unsettled) for way, w in zip(draft.ways, arriving, strict=True)]
    fine = _as_fine(draft.step, results)
    groups = [tuple(k for k, r in enumerate(results) if r.group == g) for g in range(len(ways))]
    groups, ways = costing.shared(fine, groups, ways, weight, (worth, unsettled or worth))
    least = worth if end.settled or unsettled is None else unsettled
    if len(groups) == 1 and ways[0].cured is None:
        return _cheaper(end, prune(costing, ways[0], weight, shop, worth, unsettled), weight, least)
    outside = costing.outside(weight, fine.chances.sum(axis=1), then)
    kept = costing.step(draft.step, shop, _rejoined(costing, draft.step, results, groups), ways, outside)
    if draft.step.kind == "try":
        beside = [prune(costing, way, weight, shop, worth, unsettled) for way in ways if way.cured is None]
        kept = min([kept, *beside], key=lambda each: float(weight @ each.cost[MONEY]) + worth * each.steps)
    return _cheaper(end, kept, weight, least)


def _cheaper(end: Draft, step: Draft, weight: Array, worth: float) -> Draft:
    saved = float(weight @ (end.cost - step.cost)[MONEY])
    return step if saved > worth * step.steps else end


def _as_fine(step: Step, results: tuple[PaperResult, ...]) -> FineResults:
    chances = np.stack([r.chances for r in results], axis=1)
    names = tuple(r.evidence.outcome if isinstance(r.evidence, OutcomeSeen) else r.label for r in results)
    if step.kind != "measure":
        return FineResults(step, names, chances, None)
    bands = [r.evidence for r in results if isinstance(r.evidence, BandSeen) and not r.evidence.over_limit]
    return FineResults(step, names, chances, np.array([b.high for b in bands[:-1]]))


def _rejoined(
    costing: Costing, step: Step, results: tuple[PaperResult, ...], groups: list[Group]
) -> tuple[PaperResult, ...]:
    """Return the results with their new ways; neighbouring bands that take the same way become one."""
    way = {k: g for g, group in enumerate(groups) for k in group}
    joined: list[PaperResult] = []
    for k, result in enumerate(results):
        new, last = replace(result, group=way[k]), joined[-1] if joined else None
        if last is not None and last.group == new.group and _are_bands(last, new):
            joined[-1] = _one_band(costing, step, last, new)
        else:
            joined.append(new)
    return tuple(joined)


def _are_bands(*results: PaperResult) -> bool:
    return all(isinstance(r.evidence, BandSeen) and not r.evidence.over_limit for r in results)


def _one_band(costing: Costing, step: Step, lower: PaperResult, upper: PaperResult) -> PaperResult:
    low, high = (r.evidence for r in (lower, upper))
    if not (isinstance(low, BandSeen) and isinstance(high, BandSeen)):
        raise TypeError("only bands of a reading can be joined to one band")
    label = band_text(costing.model.function(step.name), low.low, high.high)
    return PaperResult(label, BandSeen(step.name, low.low, high.high), lower.chances + upper.chances, lower.group)
