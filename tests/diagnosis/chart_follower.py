"""A technician who follows a chart on paper with a drawn vehicle: readings are drawn, read off the bands, repairs done.

It knows nothing of the proof: values are drawn from the prediction of the vehicle's own row, and what is seen from its
tables; what it does at the end of a path it takes from the suspects' probabilities there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from proveout.circuits import access_closure
from proveout.diagnosis.chart_model import Chart, ChartStep
from proveout.diagnosis.evidence import BandSeen, OutcomeSeen
from proveout.diagnosis.faults import NONE_OF_THESE
from proveout.diagnosis.likelihood import shown_spread
from proveout.diagnosis.steps import Step

__all__ = ["Outing", "follow"]


@dataclass(frozen=True)
class Outing:
    """What following the chart came to: was the first repair the right one, and minutes and money up to the cure."""

    right: bool
    minutes: float
    money: float


def follow(chart: Chart, hypothesis: int, rng: np.random.Generator) -> Outing:
    """Follow the chart with a vehicle that has one hypothesis' fault."""
    model, shop = chart.start.model, chart.shop
    node, opened = chart.root, set(shop.opened)
    minutes = parts = 0.0
    weight = chart.start.weight * model.hypotheses.known
    cured = False
    while isinstance(node, ChartStep):
        minutes += node.minutes
        parts += node.step.parts
        opened |= set(node.step.access)
        taken = _drawn(chart, node, hypothesis, rng)
        if taken is None:
            listed = sum(branch.chances for branch in node.branches)
            return _repair(chart, weight * np.maximum(1.0 - listed, 0.0), opened, "", hypothesis, minutes, parts)
        branch = node.branches[taken]
        if isinstance(branch.evidence, OutcomeSeen) and branch.evidence.outcome == "cured":
            cured = _is_cured_for_good(chart, node.step, hypothesis, rng)
        weight, node = weight * branch.chances, branch.target
    if cured:
        return Outing(True, minutes, minutes * shop.labour_rate / 60.0 + parts)
    return _repair(chart, weight, opened, node.suspect, hypothesis, minutes, parts)


def _drawn(chart: Chart, node: ChartStep, hypothesis: int, rng: np.random.Generator) -> int | None:
    """Return the number of the branch taken, None for a reading outside all bands."""
    model = chart.start.model
    if node.step.kind != "measure":
        chances = [float(branch.chances[hypothesis]) for branch in node.branches]
        pick = int(rng.choice(len(chances) + 1, p=[*chances, max(0.0, 1.0 - sum(chances))]))
        return pick if pick < len(chances) else None
    there = rng.random() < chart.start.presence[hypothesis]
    row = np.array([model.hypotheses.row[hypothesis] if there else 0])
    column, function = model.column[node.step.name], model.function(node.step.name)
    centre, variance = chart.start.predictive_rows(column, row)
    over, spread = shown_spread(model.meter, function, centre, variance)
    value = np.inf if rng.random() < over[0] else rng.normal(centre[0], spread[0])
    for number, branch in enumerate(node.branches):
        seen = branch.evidence
        if isinstance(seen, BandSeen) and (
            np.isinf(value) if seen.over_limit else not np.isinf(value) and seen.low <= value < seen.high
        ):
            return number
    return None


def _is_cured_for_good(chart: Chart, step: Step, hypothesis: int, rng: np.random.Generator) -> bool:
    model = chart.start.model
    cures = model.cures[step.name][hypothesis]
    if not model.circuit.trials[step.name].lasting or cures <= 0.0:
        return False
    absent = 1.0 - chart.start.presence[hypothesis]
    return bool(rng.random() < cures / (cures + (1.0 - cures) * absent))


def _repair(
    chart: Chart, weight: np.ndarray, opened: set[str], first: str, hypothesis: int, minutes: float, parts: float
) -> Outing:
    """Repair by descending probability over cost until the vehicle is cured."""
    model, shop = chart.start.model, chart.shop
    rate, wrong = shop.labour_rate / 60.0, 0.0
    chances = np.bincount(model.hypotheses.suspect, weight, len(model.suspects))
    truth = model.suspects[model.hypotheses.suspect[hypothesis]].name
    left = {s.name: s for s in model.suspects}
    proof = model.circuit.behaviours[model.circuit.proof].minutes
    right: bool | None = None

    def takes(name: str) -> tuple[float, float]:
        repair = left[name].repair
        access = set(access_closure(model.circuit, repair.access)) - opened
        work = repair.minutes + proof + sum(model.circuit.access[a].minutes for a in access)
        return work, work * rate + repair.parts

    while True:
        known = [n for n in left if n != NONE_OF_THESE] or list(left)
        name = first or max(known, key=lambda n: chances[model.suspect_index[n]] / (takes(n)[1] + shop.wrong_repair))
        right = (name == truth and bool(first)) if right is None else right
        work, _ = takes(name)
        minutes, parts = minutes + work, parts + left[name].repair.parts
        opened = opened | set(access_closure(model.circuit, left[name].repair.access))
        if name == truth:
            return Outing(right, minutes, minutes * rate + parts + wrong)
        wrong += shop.wrong_repair
        del left[name]
        first = ""
