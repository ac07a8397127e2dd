"""A service chart in fixed order as a tree of the same kind as a derived one, so that it gets the same proof."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from proveout.circuits.schema import Limit
from proveout.circuits.service_chart import ServiceChart
from proveout.circuits.service_chart import Step as ServiceStep
from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.chart_model import Branch, Chart, ChartEnd, ChartStep, after_step, step_minutes
from proveout.diagnosis.evidence import BandSeen, Evidence, OutcomeSeen
from proveout.diagnosis.outcomes import step_outcomes
from proveout.diagnosis.paper_results import without_slips
from proveout.diagnosis.steps import SEEN_AS, Step, steps_of
from proveout.errors import InputError
from proveout.network.laws import Array

__all__ = ["service_tree"]

LONGEST = 60


def service_tree(belief: Belief, service: ServiceChart, shop: Shop) -> Chart:
    """Return the service chart as a tree for this circuit.

    Raises
    ------
    InputError
        If the chart runs in a circle, or leads to a step, result or suspect that does not exist.
    """
    work = _Unfolding(belief, service)
    return Chart(service.title, belief, shop, work.node(service.first, shop, 0))


class _Unfolding:
    def __init__(self, belief: Belief, service: ServiceChart) -> None:
        self.belief, self.service = belief, service
        self.steps = {s.name: s for s in steps_of(belief.model.circuit)}
        self.count = 0

    def node(self, lead: str, shop: Shop, depth: int) -> ChartStep | ChartEnd:
        self.count += 1
        number = self.count
        if lead == "stop":
            return ChartEnd(number, "", "The chart ends without a finding", ())
        if lead.startswith("repair "):
            return self._end(number, lead.removeprefix("repair "))
        if depth > LONGEST:
            raise InputError(
                f"service chart '{self.service.title}' runs in a circle at step '{lead}'; break the circle"
            )
        if lead not in self.service.steps:
            raise InputError(f"service chart '{self.service.title}' leads to '{lead}', which is no step of it")
        entry = self.service.steps[lead]
        step = self.steps.get(entry.do)
        if step is None:
            raise InputError(f"step '{lead}' does '{entry.do}', which the circuit does not have")
        then = after_step(shop, step)
        branches = tuple(
            Branch(label, evidence, chances, self.node(target, then, depth + 1))
            for label, evidence, chances, target in self._results(entry, step)
        )
        return ChartStep(number, step, step_minutes(self.belief.model, shop, step), branches)

    def _end(self, number: int, suspect: str) -> ChartEnd:
        model = self.belief.model
        if suspect not in model.suspect_index:
            known = ", ".join(model.suspect_index)
            raise InputError(
                f"service chart '{self.service.title}' repairs '{suspect}', no suspect here; known: {known}"
            )
        return ChartEnd(number, suspect, model.suspects[model.suspect_index[suspect]].repair.title, ())

    def _results(self, entry: ServiceStep, step: Step) -> Iterator[tuple[str, Evidence, Array, str]]:
        if step.kind == "measure":
            yield from self._reading_results(entry, step)
            return
        found = self._seen(step)
        for outcome, chances in found.items():
            yield outcome, OutcomeSeen(SEEN_AS[step.kind], step.name, outcome), chances, _lead(entry, outcome)

    def _seen(self, step: Step) -> dict[str, Array]:
        found = step_outcomes(self.belief, step)
        return dict(zip(found.names, without_slips(self.belief.model, step, found.chances).T, strict=True))

    def _reading_results(self, entry: ServiceStep, step: Step) -> Iterator[tuple[str, Evidence, Array, str]]:
        limit = entry.good or self.belief.model.circuit.measurements[step.name].limit
        if limit is None:
            raise InputError(
                f"the step that does '{entry.do}' has no limits; give it 'good', or the measurement a limit"
            )
        names, edges = _bands(limit)
        chances = self._band_chances(step, edges)
        bounds = np.concatenate([[-np.inf], edges, [np.inf]])
        for k, name in enumerate(names):
            band = BandSeen(step.name, float(bounds[k]), float(bounds[k + 1]))
            yield name, band, chances[:, k], _lead(entry, name)
        over = "good" if limit.open or limit.high is None else "open"
        yield ("OL", BandSeen(step.name, over_limit=True), chances[:, -1], _lead(entry, over))

    def _band_chances(self, step: Step, edges: Array) -> Array:
        model = self.belief.model
        return self.belief.band_chances(model.column[step.name], model.function(step.name), edges, slip=0.0)


def _bands(limit: Limit) -> tuple[list[str], Array]:
    """Return the names of the bands of a limit and the edges between them."""
    if limit.open:
        return ["low"], np.empty(0)
    names, edges = ["good"], []
    if limit.low is not None:
        names.insert(0, "low")
        edges.append(limit.low)
    if limit.high is not None:
        names.append("high")
        edges.append(limit.high)
    return names, np.array(edges)


def _lead(entry: ServiceStep, result: str) -> str:
    """Return where a result leads: its own entry, else that for 'high' where it is open, else that for 'bad'."""
    order = (result, "high", "bad") if result == "open" else (result, "bad")
    for name in order:
        if name in entry.leads:
            return entry.leads[name]
    raise InputError(f"the step that does '{entry.do}' says nothing of the result '{result}'; add it under 'leads'")
