"""Results as a chart on paper tells them apart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from diagnosis.ready import model
from proveout.diagnosis import Belief
from proveout.diagnosis.outcomes import step_outcomes
from proveout.diagnosis.paper_results import (
    FineResults,
    band_text,
    fine_results,
    group_results,
    may_join,
    paper_results,
    with_over_limit,
    without_slips,
)
from proveout.diagnosis.steps import Step, steps_of
from proveout.instruments import Function

NAME = "pressure-3wire"


def step_named(name: str) -> Step:
    return next(s for s in steps_of(model(NAME).circuit) if s.name == name)


def test_without_slips_a_sound_wire_reads_nothing_but_sound() -> None:
    belief = Belief.start(model(NAME))
    for name in ("low_reference_ohms", "runs"):
        step = step_named(name)
        found = step_outcomes(belief, step).chances
        clean = without_slips(belief.model, step, found)
        known = belief.model.hypotheses.known
        assert clean[known].sum(axis=1) == pytest.approx(1.0)
        assert clean[known].max() > found[known].max()
        assert clean[known].min() == pytest.approx(0.0, abs=1e-9)


def test_results_that_leave_the_same_suspects_are_one_group() -> None:
    fine = FineResults(step_named("runs"), ("a", "b", "c"), np.zeros((1, 3)), None)
    mass = np.array([[0.3, 0.0], [0.2, 0.0], [0.0, 0.5]])
    assert group_results(fine, mass, mass.sum(axis=1)) == [(0, 1), (2,)]


def test_only_neighbouring_bands_join_and_over_limit_joins_any() -> None:
    fine = FineResults(step_named("low_reference_ohms"), ("0", "1", "2", "OL"), np.zeros((1, 4)), np.array([1.0, 9.0]))
    assert may_join(fine, (0,), (1,))
    assert not may_join(fine, (0,), (2,))
    assert may_join(fine, (0,), (3,))
    mass = np.array([[0.3, 0.0], [0.0, 0.4], [0.3, 0.0], [0.0, 0.0]])
    assert group_results(fine, mass, mass.sum(axis=1)) == [(0,), (1,), (2,)]


def test_a_trials_cure_shares_its_way_with_nothing_else() -> None:
    fine = FineResults(replace(step_named("runs"), kind="try"), ("cured", "same"), np.zeros((1, 2)), None)
    assert not may_join(fine, (0,), (1,))
    mass = np.array([[0.3, 0.3], [0.2, 0.2]])
    assert group_results(fine, mass, mass.sum(axis=1)) == [(0,), (1,)]


def test_who_reads_over_limit_takes_it_as_above_where_no_fault_shows_it() -> None:
    belief = Belief.start(model(NAME))
    step = step_named("low_reference_ohms")
    fine = FineResults(step, ("0", "1", "OL"), np.zeros((1, 3)), np.array([1.0]))
    assert with_over_limit(belief, fine, [(0,), (1,)]) == [(0,), (1, 2)]
    assert with_over_limit(belief, fine, [(0, 2), (1,)]) == [(0, 2), (1,)]


def test_an_edge_is_the_manuals_limit_where_that_separates_as_well() -> None:
    belief = Belief.start(model(NAME))
    fine = fine_results(belief, step_named("reference_volts"))
    assert fine.edges is not None
    # Two ways on that are right below and above 4.9 V and cost 1 more a case when they are taken wrongly.
    low = tuple(k for k in range(len(fine.edges) + 1) if k == 0 or fine.edges[k - 1] < 4.9)
    high = tuple(k for k in range(len(fine.edges) + 1) if k not in low)
    mean = belief.model.predictions.mean[belief.model.hypotheses.row, belief.model.column["reference_volts"]]
    cost = np.stack([mean > 4.9, mean <= 4.9, np.ones_like(mean)]).astype(float)
    results = paper_results(belief, fine, [low, high], belief.weight, cost, 1e-3)
    assert [r.label for r in results] == ["below 4.80 V", "above 4.80 V"]


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (-np.inf, np.inf, "any value"),
        (-np.inf, 0.05, "below 50.0 mV"),
        (1200.0, np.inf, "above 1.20 kΩ"),
        (1.0, 30.0, "1.00 Ω to 30.0 Ω"),
    ],
)
def test_a_band_is_written_as_a_meter_shows_it(low: float, high: float, text: str) -> None:
    function = Function.OHMS if "Ω" in text else Function.VOLTS_DC
    assert band_text(function, low, high) == text
