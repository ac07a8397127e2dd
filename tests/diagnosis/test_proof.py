"""The proof of a chart against vehicles that follow it one by one."""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis.chart_follower import follow
from diagnosis.ready import derived, service
from proveout.diagnosis.chart_cost import known_weight
from proveout.diagnosis.chart_model import Chart
from proveout.diagnosis.proof import missed_faults, prove_chart

DRAWN = 2000
ERRORS = 4.0  # standard errors of the mean of what was drawn


def means(chart: Chart, steady: bool, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Mean and its standard error of: right at the first repair, minutes, money."""
    rng = np.random.default_rng(seed)
    h, weight = chart.start.model.hypotheses, known_weight(chart.start)
    if steady:
        weight = weight * (h.presence >= 1.0) * (h.variant >= 0)
    drawn = rng.choice(len(weight), DRAWN, p=weight / weight.sum())
    outings = [follow(chart, int(k), rng) for k in drawn]
    table = np.array([[o.right, o.minutes, o.money] for o in outings], dtype=float)
    return table.mean(axis=0), table.std(axis=0) / np.sqrt(DRAWN)


@pytest.mark.parametrize("kind", ["derived", "service"])
def test_the_proof_is_what_drawn_vehicles_come_to(kind: str) -> None:
    chart = derived("pressure-3wire") if kind == "derived" else service("pressure-3wire")
    proof = prove_chart(chart)
    every, error = means(chart, steady=False, seed=11)
    assert proof.minutes_to_cure == pytest.approx(every[1], abs=ERRORS * error[1])
    assert proof.money_to_cure == pytest.approx(every[2], abs=ERRORS * error[2])
    steady, error = means(chart, steady=True, seed=12)
    assert proof.coverage == pytest.approx(steady[0], abs=ERRORS * error[0])


@pytest.mark.slow
@pytest.mark.parametrize("name", ["fuel-pump", "crank-hall-5v"])
def test_the_proof_holds_where_trials_cure_for_good_and_access_is_dear(name: str) -> None:
    for chart, seed in ((derived(name), 21), (service(name), 22)):
        proof = prove_chart(chart)
        every, error = means(chart, steady=False, seed=seed)
        assert proof.minutes_to_cure == pytest.approx(every[1], abs=ERRORS * error[1])
        assert proof.money_to_cure == pytest.approx(every[2], abs=ERRORS * error[2])


def test_every_fault_at_every_severity_has_its_end() -> None:
    chart = derived("pressure-3wire")
    model, proof = chart.start.model, prove_chart(chart)
    assert [f.reference for f in proof.faults] == list(model.references)
    for fault, variant in zip(proof.faults, model.predictions.variants, strict=True):
        assert [s.value for s in fault.severities] == variant.severities[0].tolist()
        assert all(0.0 <= s.cured <= 1.0 + 1e-9 and s.chance > 0.0 for s in fault.severities)


def test_the_proof_counts_repairs_after_the_first() -> None:
    proof = prove_chart(service("pressure-3wire"))
    assert proof.minutes_to_cure > proof.expected_minutes
    assert proof.money_to_cure > proof.expected_money


@pytest.mark.slow
def test_a_strand_of_copper_passes_the_service_charts_ohms_and_not_the_derived_chart() -> None:
    # Common practice: a wire that hangs by a strand reads well under an ohm and fails under the pump's current.
    found = prove_chart(derived("fuel-pump"))
    missed = missed_faults(prove_chart(service("fuel-pump")), found)
    resistive = [m for m in missed if m.reference.endswith(".resistive")]
    assert resistive, "the service chart finds every bad joint that the derived chart finds"
    assert all(m.finding != m.suspect for m in missed)
    assert min(m.low for m in resistive) < 1.0


@pytest.mark.slow
@pytest.mark.parametrize("name", ["fuel-pump", "crank-hall-5v", "pressure-3wire"])
def test_a_derived_chart_finds_more_for_less_than_the_service_chart(name: str) -> None:
    own, fixed = prove_chart(derived(name)), prove_chart(service(name))
    assert own.coverage > fixed.coverage
    assert own.minutes_to_cure < fixed.minutes_to_cure
    assert own.money_to_cure < fixed.money_to_cure
