"""The proof of a chart: where every fault at every severity ends, what it costs, and what the chart cannot tell apart.

The chance of each result is that of the belief the chart starts from, result by result along each path, so the proof
holds for derived charts and for charts that were entered as data alike. Readings are taken without slips, and 'none of
these' is set aside: a chart on paper has no answer to either but to take the reading again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.circuits.schema import Circuit
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.chart_cost import cost_from_end, cured_for_good, known_weight
from proveout.diagnosis.chart_model import Chart, ChartEnd, ChartStep, after_step, walk
from proveout.diagnosis.faults import Fault
from proveout.diagnosis.model import Model
from proveout.diagnosis.repair_chain import MINUTES, MONEY, RepairPrices, repair_prices
from proveout.diagnosis.severity_text import severity_span, severity_unit
from proveout.network.laws import Array

__all__ = ["OUTSIDE", "ChartProof", "FaultProof", "Missed", "Severity", "missed_faults", "prove_chart"]


Flags = npt.NDArray[np.bool_]
OUTSIDE = 0
"""Number that stands for a reading outside all bands of a step, where a chart has no end of its own."""
FOUND = 0.5  # chance of its own repair from which a fault at one severity counts as found


@dataclass(frozen=True)
class Severity:
    """Where one fault at one severity most probably ends, with which finding, and how probably with its own repair.

    `end` is the end's number in the chart (`OUTSIDE` where no band of a step holds the reading), `chance` how probably
    it ends there, `finding` the suspect named most probably over all ends (empty for a stop).
    """

    value: float
    end: int
    chance: float
    finding: str
    cured: float


@dataclass(frozen=True)
class FaultProof:
    """What a chart does with one fault mode, severity by severity; `unit` is that of the severities' values."""

    reference: str
    title: str
    suspect: str
    severities: tuple[Severity, ...]
    unit: str = ""

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
        Steady faults, each with all its severities.
    coverage : float
        Probability, over all steady faults weighted as they stand at the start, of ending with the right repair.
    confusable : tuple of (str, str, float)
        Two suspects and the probability that the first ends with the repair of the second.
    expected_minutes : float
        Minutes on the chart up to its end, without the repair.
    expected_money : float
        The same with the first repair at the end, in the shop's money.
    minutes_to_cure, money_to_cure : float
        The same up to the repair that cures: where the first does not, the suspects left follow by descending
        probability over cost, and each wrong repair costs the shop's price for it (`Shop.wrong_repair`) on top.
    outside : float
        Probability that some reading lies outside all bands.
    steps, ends : int
    """

    faults: tuple[FaultProof, ...]
    coverage: float
    confusable: tuple[tuple[str, str, float], ...]
    expected_minutes: float
    expected_money: float
    minutes_to_cure: float
    money_to_cure: float
    outside: float
    steps: int
    ends: int


@dataclass(frozen=True)
class Missed:
    """A fault that a chart does not find over a span of severities, and the finding that stands in its place.

    `span` is the span from `low` to `high` in words, empty for a fault without severities.
    """

    reference: str
    title: str
    suspect: str
    low: float
    high: float
    finding: str
    span: str


@dataclass(frozen=True)
class _Arrival:
    """One path to its end: chances (H,) of taking it, what it costs (2,), and what is spent from there (2, H)."""

    number: int
    suspect: str
    chances: Array
    spent: Array
    to_cure: Array
    cured: Array


def prove_chart(chart: Chart) -> ChartProof:
    """Run every fault at every severity through a chart."""
    belief, model = chart.start, chart.start.model
    prices, weight, h = repair_prices(model, chart.shop), known_weight(belief), model.hypotheses
    arrivals = list(_Walk(chart, prices, weight).arrivals(chart.root))
    reach = np.stack([a.chances for a in arrivals])
    cured = np.sum([a.chances * a.cured for a in arrivals], axis=0)
    steady = (h.presence >= 1.0) & h.known & (h.variant >= 0)
    share = weight[steady] / weight[steady].sum()
    chance = reach @ weight
    spent = chance @ np.stack([a.spent for a in arrivals])
    after = np.sum([(a.chances * a.to_cure) @ weight for a in arrivals], axis=0)
    first = chance @ np.array([_first_repair(model, prices, a) for a in arrivals])
    nodes = list(walk(chart.root))
    return ChartProof(
        faults=tuple(_fault_proofs(model, arrivals, reach, cured, steady)),
        coverage=float(share @ cured[steady]),
        confusable=_confusable(belief, arrivals, reach, steady),
        expected_minutes=float(spent[MINUTES]),
        expected_money=float(spent[MONEY] + first),
        minutes_to_cure=float(spent[MINUTES] + after[MINUTES]),
        money_to_cure=float(spent[MONEY] + after[MONEY]),
        outside=float(sum(c for c, a in zip(chance, arrivals, strict=True) if a.number == OUTSIDE)),
        steps=sum(isinstance(n, ChartStep) for n in nodes),
        ends=sum(isinstance(n, ChartEnd) for n in nodes),
    )


def missed_faults(proof: ChartProof, beside: ChartProof | None = None) -> tuple[Missed, ...]:
    """Return what a chart does not find, each span of severities with one wrong finding as one entry.

    A fault is found where its own repair is the likeliest finding, or comes with a chance of `FOUND` or more. With
    `beside` only what that other chart of the same circuit finds is returned.
    """
    found = []
    for k, fault in enumerate(proof.faults):
        other = beside.faults[k].severities if beside is not None else None
        spans: list[list[Severity]] = []
        previous = -2
        for n, severity in enumerate(fault.severities):
            found_here = severity.cured >= FOUND or severity.finding == fault.suspect
            if found_here or (other is not None and other[n].cured < FOUND):
                continue
            if previous == n - 1 and spans[-1][-1].finding == severity.finding:
                spans[-1].append(severity)
            else:
                spans.append([severity])
            previous = n
        found += [_missed(fault, span) for span in spans]
    return tuple(found)


def _missed(fault: FaultProof, span: Sequence[Severity]) -> Missed:
    low, high, finding = span[0].value, span[-1].value, span[0].finding
    shown = severity_span(low, high, fault.unit) if len(fault.severities) > 1 else ""
    return Missed(fault.reference, fault.title, fault.suspect, low, high, finding, shown)


class _Walk:
    def __init__(self, chart: Chart, prices: RepairPrices, weight: Array) -> None:
        self.chart, self.prices, self.weight = chart, prices, weight
        self.belief, self.model = chart.start, chart.start.model

    def arrivals(self, root: ChartStep | ChartEnd) -> Iterator[_Arrival]:
        """Yield the end of every path, those of readings outside all bands included."""
        waiting = [(root, np.ones(len(self.weight)), np.zeros(2), self.chart.shop, np.zeros(len(self.weight)))]
        while waiting:
            node, chances, spent, shop, gone = waiting.pop()
            if isinstance(node, ChartEnd):
                yield self._arrival(node.number, node.suspect, chances, spent, shop.opened, gone)
                continue
            money = node.minutes * self.prices.per_minute + node.step.parts
            by_then = spent + np.array([node.minutes, money])
            then, left = after_step(shop, node.step), chances
            for branch in node.branches:
                on = chances * branch.chances
                left = left - on
                cured = cured_for_good(self.belief, branch.evidence)
                now = gone if cured is None else cured
                waiting.append((branch.target, on, by_then, then, now))
            left = np.maximum(left, 0.0)
            if left @ self.weight > 1e-9:
                yield self._arrival(OUTSIDE, "", left, by_then, then.opened, gone)

    def _arrival(
        self, number: int, suspect: str, chances: Array, spent: Array, opened: frozenset[str], gone: Array
    ) -> _Arrival:
        to_cure = cost_from_end(self.model, self.prices, self.weight * chances, opened, suspect) * (1.0 - gone)
        h = self.model.hypotheses
        named = h.suspect == self.model.suspect_index[suspect] if suspect else np.zeros(len(h), dtype=bool)
        return _Arrival(number, suspect, chances, spent, to_cure, np.maximum(named, gone))


def _first_repair(model: Model, prices: RepairPrices, arrival: _Arrival) -> float:
    """Return what the repair named at an end costs, without access, in money."""
    if not arrival.suspect:
        return 0.0
    k = model.suspect_index[arrival.suspect]
    return float(prices.minutes[k] * prices.per_minute + prices.parts[k])


def _fault_proofs(
    model: Model, arrivals: Sequence[_Arrival], reach: Array, cured: Array, steady: Flags
) -> Iterator[FaultProof]:
    h = model.hypotheses
    names = ["", *(s.name for s in model.suspects)]
    place = np.array([names.index(a.suspect) for a in arrivals])
    for k, variant in enumerate(model.predictions.variants):
        rows = np.flatnonzero(steady & (h.variant == k))
        if not len(rows):
            continue
        values = variant.severities[0]
        entries = []
        for n, r in enumerate(rows):
            per_end: dict[int, float] = {}
            for arrival, chance in zip(arrivals, reach[:, r].tolist(), strict=True):
                per_end[arrival.number] = per_end.get(arrival.number, 0.0) + chance
            end = max(per_end, key=lambda e: per_end[e])
            finding = names[int(np.bincount(place, reach[:, r], len(names)).argmax())]
            value = float(values[min(n, len(values) - 1)])
            entries.append(Severity(value, end, per_end[end], finding, float(cured[r])))
        title = " and ".join(f.title for f in variant.faults)
        suspect = model.suspects[h.suspect[rows[0]]].name
        yield FaultProof(model.references[k], title, suspect, tuple(entries), _unit(model.circuit, variant.faults[0]))


def _unit(circuit: Circuit, fault: Fault) -> str:
    kind = "bridge" if fault.part in circuit.bridges else circuit.parts[fault.part].kind
    return severity_unit(kind, fault.mode)


def _confusable(
    belief: Belief, arrivals: Sequence[_Arrival], reach: Array, steady: Flags
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
            per_end[arrival.suspect] = per_end.get(arrival.suspect, 0.0) + chance
        found += [
            (suspect.name, other, chance)
            for other, chance in per_end.items()
            if other and other != suspect.name and chance > 0.02
        ]
    return tuple(sorted(found, key=lambda entry: -entry[2]))
