"""Derived charts: fit for paper, complete, and the conclusions of common practice."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest

from diagnosis.ready import derived, model
from proveout.circuits import ready_names
from proveout.diagnosis import Belief, Model, Shop
from proveout.diagnosis.chart import derive_chart
from proveout.diagnosis.chart_cost import known_weight
from proveout.diagnosis.chart_draft import Costing
from proveout.diagnosis.chart_model import Branch, Chart, ChartEnd, ChartStep, is_cure, walk
from proveout.diagnosis.chart_numbering import _Keys
from proveout.diagnosis.evidence import BandSeen, OutcomeSeen
from proveout.diagnosis.proof import prove_chart
from proveout.errors import InputError
from proveout.reports.chart_nodes import chart_nodes
from proveout.reports.chart_tree import walk as walk_nodes


def steps(chart: Chart) -> list[ChartStep]:
    return [node for node in walk(chart.root) if isinstance(node, ChartStep)]


def bands(step: ChartStep) -> list[BandSeen]:
    seen = [branch.evidence for branch in step.branches]
    return [e for e in seen if isinstance(e, BandSeen) and not e.over_limit]


def branch_of(step: ChartStep, value: float) -> Branch:
    """Return the branch that a reading takes."""
    for branch in step.branches:
        seen = branch.evidence
        if isinstance(seen, BandSeen) and not seen.over_limit and seen.low <= value < seen.high:
            return branch
    raise AssertionError(f"{value} lies outside all bands of {step.step.name}")


def findings(node: ChartStep | ChartEnd) -> set[str]:
    return {end.suspect for end in walk(node) if isinstance(end, ChartEnd)}


def is_fit_for_paper(chart: Chart) -> None:
    nodes, circuit = list(walk(chart.root)), chart.start.model.circuit
    assert sorted(node.number for node in nodes) == list(range(1, len(nodes) + 1))
    assert all(node.suspect for node in nodes if isinstance(node, ChartEnd))
    assert "drawing" in chart.standing
    for step in steps(chart):
        listed = np.sum([branch.chances for branch in step.branches], axis=0)
        assert np.all(listed[chart.start.model.hypotheses.known] < 1.0 + 1e-9)
        spans = bands(step)
        assert all(one.high == other.low for one, other in pairwise(spans))
        limit = circuit.measurements[step.step.name].limit if spans else None
        printed = {limit.low, limit.high} if limit else set()
        for edge in {e for span in spans for e in (span.low, span.high) if np.isfinite(e)} - printed:
            assert edge == float(f"{edge:.3g}"), f"{edge} cannot be read off a meter"


def test_a_chart_is_fit_for_paper() -> None:
    chart = derived("pressure-3wire")
    is_fit_for_paper(chart)
    assert 10 <= len(steps(chart)) <= 40


@pytest.mark.slow
@pytest.mark.parametrize("name", ready_names())
def test_every_ready_circuit_has_a_chart_that_finds_most_faults(name: str) -> None:
    chart = derived(name)
    is_fit_for_paper(chart)
    a_cure_is_said_only_after_that_cure(chart)
    an_end_without_a_likely_suspect_is_no_finding(chart)
    proof = prove_chart(chart)
    assert 10 <= proof.steps <= 45
    assert proof.coverage > 0.7
    assert proof.outside < 0.01


def test_no_step_is_taken_twice_on_a_path() -> None:
    def check(node: ChartStep | ChartEnd, done: frozenset[str]) -> None:
        if isinstance(node, ChartStep):
            assert node.step.name not in done
            for branch in node.branches:
                check(branch.target, done | {node.step.name})

    check(derived("pressure-3wire").root, frozenset())


def a_cure_is_said_only_after_that_cure(chart: Chart) -> None:
    """What is said of a cure is reached by the cure of one lasting trial and by nothing else."""
    into: dict[int, set[tuple[str, bool]]] = {}
    for step in steps(chart):
        for branch in step.branches:
            into.setdefault(branch.target.number, set()).add((step.step.name, is_cure(branch.evidence)))
    trials = chart.start.model.circuit.trials
    for end in walk(chart.root):
        if not isinstance(end, ChartEnd):
            continue
        lasting = {name for name, cure in into[end.number] if cure and trials[name].lasting}
        assert bool(lasting) == end.title.startswith(("Cured", "Gone")), end
        if lasting:
            assert into[end.number] == {(next(iter(lasting)), True)}
            assert "No fault" not in end.title


def an_end_without_a_likely_suspect_is_no_finding(chart: Chart) -> None:
    for end in walk(chart.root):
        if isinstance(end, ChartEnd) and not end.title.startswith(("Cured", "Gone")):
            assert end.settled == (end.left[0].probability >= 0.6), end
            assert end.settled != end.title.startswith("Not settled on paper"), end


def test_ends_say_what_has_been_done_and_how_sure_they_are() -> None:
    a_cure_is_said_only_after_that_cure(derived("pressure-3wire"))
    an_end_without_a_likely_suspect_is_no_finding(derived("pressure-3wire"))


def test_the_same_results_with_a_cure_and_a_repair_are_two_ends() -> None:
    start = Belief.start(model("fuel-pump"))
    costing = Costing(start, Shop())
    lasting = [name for name, trial in start.model.circuit.trials.items() if trial.lasting]
    likely = known_weight(start) * start.model.cures[lasting[0]]
    ends = [costing.end(likely, Shop(), OutcomeSeen("trial", name, "cured")) for name in lasting[:2]]
    assert all(end.settled and end.title.startswith("Cured: ") for end in ends[:1])
    by_itself = known_weight(start) * (start.model.hypotheses.variant < 0)
    gone = costing.end(by_itself, Shop(), OutcomeSeen("trial", lasting[0], "cured"))
    assert not gone.settled
    assert gone.title.startswith("Gone, perhaps by itself")
    ends.append(costing.end(likely, Shop()))
    keys = _Keys()
    assert len({keys.of(end) for end in ends}) == len(lasting[:2]) + 1


def test_a_drawn_end_that_is_not_settled_is_a_stop_with_its_order() -> None:
    chart = derived("pressure-3wire")
    drawn = {node.id: node for node in walk_nodes(chart_nodes(chart))}
    ends = [node for node in walk(chart.root) if isinstance(node, ChartEnd)]
    assert {end.settled for end in ends} == {True, False}
    for end in ends:
        box = drawn[str(end.number)]
        assert box.kind == ("finding" if end.settled else "stop")
        assert end.settled or [line.split(" %", 1)[1].strip() for line in box.lines[1:]] == [o.title for o in end.left]


def test_a_chart_of_no_steps_is_refused() -> None:
    with pytest.raises(InputError, match="ask for 1 or more"):
        derive_chart(Belief.start(model("pressure-3wire")), Shop(), most_steps=0)


@pytest.mark.slow
def test_a_chart_may_be_asked_to_be_shorter() -> None:
    start = Belief.start(model("pressure-3wire"))
    short = derive_chart(start, Shop(), most_steps=10)
    assert len(steps(short)) < len(steps(derived("pressure-3wire")))
    assert len(steps(short)) <= 10
    assert prove_chart(short).money_to_cure > prove_chart(derived("pressure-3wire")).money_to_cure


@pytest.mark.slow
def test_what_cannot_be_done_here_is_not_on_the_chart() -> None:
    first = steps(derived("pressure-3wire"))[0].step.name
    without = derive_chart(Belief.start(model("pressure-3wire")), Shop(cannot=frozenset({first})))
    assert first not in {step.step.name for step in steps(without)}


def test_progress_ends_at_one() -> None:
    told: list[float] = []
    found, practised = practice("pressure-3wire")[:2]
    derive_chart(Belief.start(found), practised.shop, progress=told.append)
    assert not {step.step.name for step in steps(practised)} & practised.shop.cannot
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0, abs=0.01)


# Common practice for a three-wire sensor on a 5 V reference: ignition off, the low reference circuit has less than
# 1 ohm to ground; ignition on, the reference has 4.8 to 5.2 V; above means a short to a supply, below means resistance
# in it or a short to ground. The readings below are those of such a chart; this one puts them in order by itself.
PRACTICE = {
    "crank-hall-5v": (
        ("low_ohms_at_cs", "reference_at_cs"),
        ("unit_reference", "unit_low_ohms", "ref_stray", "ref_ground_ohms", "ref_low_ohms", "ref_continuity"),
        ("low_continuity",),
    ),
    "pressure-3wire": (
        ("low_reference_ohms", "reference_volts"),
        ("reference_live", "reference_alone", "reference_to_ground", "reference_ohms", "ground_ohms"),
        (),
    ),
}
LOW_PATH = ("low", "ground", "ce_9")
REFERENCE_PATH = ("ref", "ce_7", "supply", "other_sensor")


@lru_cache(maxsize=2)
def practice(name: str) -> tuple[Model, Chart, ChartStep, ChartStep]:
    """Return the chart from those readings alone, with its low reference and reference steps."""
    found = model(name)
    circuit = found.circuit
    (low, reference), more, rest = PRACTICE[name]
    kept = {low, reference, *more, *rest}
    every = {*circuit.measurements, *circuit.looks, *circuit.behaviours, *circuit.trials}
    shop = Shop(opened=frozenset(circuit.access), cannot=frozenset(every - kept))
    chart = derive_chart(Belief.start(found), shop)
    by_name = {step.step.name: step for step in steps(chart)}
    return found, chart, by_name[low], by_name[reference]


def faults_reading(found: Model, measurement: str, low: float, high: float) -> set[str]:
    """Return the steady faults that some severity brings into a band."""
    h = found.hypotheses
    value = found.predictions.mean[h.row, found.column[measurement]]
    steady = (h.presence >= 1.0) & (h.variant >= 0) & (value >= low) & (value < high)
    return {found.references[v] for v in h.variant[steady]}


@pytest.mark.parametrize("name", sorted(PRACTICE))
def test_the_chart_takes_the_limits_of_common_practice(name: str) -> None:
    _, _, low, reference = practice(name)
    edges = {e for span in bands(reference) for e in (span.low, span.high)}
    assert {4.8, 5.2} <= edges
    good = branch_of(low, 0.3).evidence
    assert isinstance(good, BandSeen)
    assert good.high == 1.0


@pytest.mark.parametrize("name", sorted(PRACTICE))
def test_a_reference_above_5_2_volts_means_a_short_to_a_supply(name: str) -> None:
    found, _, _, reference = practice(name)
    high = branch_of(reference, 9.0)
    assert not findings(high.target) & {"crank_sensor", "sensor", "cs_terminal", "sensor_terminal"}
    # A ground of the control unit that is lifted raises the reference too, when it is read against the battery.
    beside = {"supply.high", "reference.high", "w_ecm_ground.open", "w_ecm_ground.resistive"}
    shorts = faults_reading(found, reference.step.name, 5.2, np.inf) - beside
    assert shorts
    assert all(s.endswith("_feed.short") or s.endswith("_supply.short") for s in shorts)


@pytest.mark.parametrize("name", sorted(PRACTICE))
def test_a_reference_below_4_8_volts_means_resistance_or_a_short_to_ground(name: str) -> None:
    found, _, _, reference = practice(name)
    for value in (0.0, 3.0):
        assert not findings(branch_of(reference, value).target) & {"crank_sensor", "sensor", "low_reference", "w_low"}
    faults = faults_reading(found, reference.step.name, -np.inf, 4.8)
    assert all(f.startswith(REFERENCE_PATH) or "_ref." in f for f in faults)


@pytest.mark.parametrize("name", sorted(PRACTICE))
def test_a_low_reference_of_an_ohm_or_more_means_resistance_in_it(name: str) -> None:
    found, _, low, _ = practice(name)
    bad = branch_of(low, 30.0).target
    assert not findings(bad) & {"crank_sensor", "sensor", "loom", "reference", "w_ref"}
    faults = faults_reading(found, low.step.name, 1.0, np.inf)
    assert faults
    assert all(f.endswith((".open", ".resistive", ".high")) for f in faults)
    assert all(any(word in f for word in LOW_PATH) for f in faults)


@pytest.mark.slow
def test_a_chart_starts_from_what_is_known_already() -> None:
    start = Belief.start(model("pressure-3wire"))
    opened = replace(Shop(), opened=frozenset(start.model.circuit.access))
    chart = derive_chart(start, opened)
    assert all(not set(step.step.access) - opened.opened for step in steps(chart))
    assert prove_chart(chart).minutes_to_cure < prove_chart(derived("pressure-3wire")).minutes_to_cure
