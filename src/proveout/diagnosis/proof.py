"""The proof of a chart: where every fault at every severity ends, what it costs, and what the chart cannot tell apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.diagnosis.belief import Belief
from proveout.diagnosis.chart import Chart, ChartEnd, ChartStep, walk
from proveout.diagnosis.model import Model
from proveout.network.laws import Array

__all__ = ["ChartProof", "FaultProof", "Severity", "prove_chart"]


Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Severity:
    """Where one fault at one severity most probably ends, how probably so, and how probably with its own repair."""

    value: float
    end: int
    chance: float
    cured: float


@dataclass(frozen=True)
class FaultProof:
    """What a chart does with one fault mode, severity by severity."""

    reference: str
    title: str
    suspect: str
    severities: tuple[Severity, ...]

    @property
    def cured(self) -> float:
        """Mean probability over the severities of ending with the right repair."""
        return float(np.mean([s.cured for s in self.severities]))


@dataclass(frozen=True)
class ChartProof:
    """The proof of a chart.

    Attributes
    ----------
    faults : tuple of FaultProof
    coverage : float
        Probability, over all steady faults weighted as they stand at the start, of ending with the right repair.
    confusable : tuple of (str, str, float)
        Two suspects and the probability that the first ends with the repair of the second.
    expected_minutes : float
        Minutes on the chart up to its end, without the repair.
    expected_money : float
        The same with the repair at the end, in the shop's money.
    steps, ends : int
    """

    faults: tuple[FaultProof, ...]
    coverage: float
    confusable: tuple[tuple[str, str, float], ...]
    expected_minutes: float
    expected_money: float
    steps: int
    ends: int


@dataclass(frozen=True)
class _Arrival:
    end: ChartEnd
    chances: Array
    minutes: float
    money: float


def prove_chart(chart: Chart) -> ChartProof:
    """Run every fault at every severity through a chart.

    The chance of each result is that of the belief the chart starts from, result by result along each path, so the
    proof holds for derived charts and for charts that were entered as data alike.
    """
    belief, model = chart.start, chart.start.model
    arrivals = list(_arrivals(chart.root, model, np.ones(len(model.hypotheses)), 0.0, 0.0, chart))
    reach = np.stack([a.chances for a in arrivals])
    weight = belief.weight
    h = model.hypotheses
    right = np.array([a.end.suspect == s.name for a in arrivals for s in model.suspects]).reshape(len(arrivals), -1)
    cured = np.sum(reach * right[:, h.suspect], axis=0)
    steady = (h.presence >= 1.0) & h.known & (h.variant >= 0)
    total = np.maximum(reach.sum(axis=0), 1e-12)
    share = weight[steady] / weight[steady].sum()
    chance = reach @ weight / (total @ weight)
    nodes = list(walk(chart.root))
    return ChartProof(
        faults=tuple(_fault_proofs(model, arrivals, reach, cured, steady)),
        coverage=float(share @ cured[steady]),
        confusable=_confusable(belief, arrivals, reach, steady),
        expected_minutes=float(chance @ np.array([a.minutes for a in arrivals])),
        expected_money=float(chance @ np.array([a.money for a in arrivals])),
        steps=sum(isinstance(n, ChartStep) for n in nodes),
        ends=sum(isinstance(n, ChartEnd) for n in nodes),
    )


def _arrivals(
    node: ChartStep | ChartEnd, model: Model, chances: Array, minutes: float, parts: float, chart: Chart
) -> Iterator[_Arrival]:
    if isinstance(node, ChartEnd):
        per_minute = chart.shop.labour_rate / 60.0
        repair = model.suspects[model.suspect_index[node.suspect]].repair if node.suspect else None
        cost = (repair.minutes * per_minute + repair.parts) if repair else 0.0
        yield _Arrival(node, chances, minutes, minutes * per_minute + parts + cost)
        return
    for branch in node.branches:
        then = minutes + node.minutes
        yield from _arrivals(branch.target, model, chances * branch.chances, then, parts + node.step.parts, chart)


def _fault_proofs(
    model: Model, arrivals: list[_Arrival], reach: Array, cured: Array, steady: Flags
) -> Iterator[FaultProof]:
    h = model.hypotheses
    for k, variant in enumerate(model.predictions.variants):
        rows = np.flatnonzero(steady & (h.variant == k))
        if not len(rows):
            continue
        values = variant.severities[0]
        entries = [
            Severity(
                float(values[min(n, len(values) - 1)]),
                arrivals[int(reach[:, r].argmax())].end.number,
                float(reach[:, r].max()),
                float(cured[r]),
            )
            for n, r in enumerate(rows)
        ]
        title = " and ".join(f.title for f in variant.faults)
        suspect = model.suspects[h.suspect[rows[0]]].name
        yield FaultProof(model.references[k], title, suspect, tuple(entries))


def _confusable(
    belief: Belief, arrivals: list[_Arrival], reach: Array, steady: Flags
) -> tuple[tuple[str, str, float], ...]:
    model, h = belief.model, belief.model.hypotheses
    found = []
    for k, suspect in enumerate(model.suspects):
        mine = steady & (h.suspect == k)
        weight = belief.weight[mine]
        if weight.sum() <= 0:
            continue
        per_end: dict[str, float] = {}
        for arrival, chances in zip(arrivals, reach, strict=True):
            chance = float(chances[mine] @ weight / weight.sum())
            per_end[arrival.end.suspect] = per_end.get(arrival.end.suspect, 0.0) + chance
        found += [
            (suspect.name, other, chance)
            for other, chance in per_end.items()
            if other and other != suspect.name and chance > 0.02
        ]
    return tuple(sorted(found, key=lambda entry: -entry[2]))
