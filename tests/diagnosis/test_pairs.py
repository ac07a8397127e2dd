"""Two faults at once, on vehicles whose every reading is ngspice's."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from diagnosis.ready import model
from proveout.diagnosis import Belief, ReadingTaken, with_pairs
from proveout.diagnosis.advice import CONCLUDED
from reference import Situation, reading

TWO = (("w_low", "resistive", 400.0), ("sig_to_low", "short", 1500.0))
NAMES = ("low_continuity", "sig_low_ohms", "low_drop_at_cs", "signal_high_loaded", "bias_at_cs")


@cache
def belief(faults: tuple[tuple[str, str, float], ...]) -> Belief:
    known = model("crank-hall-5v")
    vehicle = Situation(known.circuit, "key_on", None, faults)
    found = Belief.start(known)
    for name in NAMES:
        true = reading(vehicle, name, known.meter)
        found = found.after(ReadingTaken(name, known.meter.read(known.function(name), true)))
    return found


@pytest.mark.slow
def test_two_faults_at_once_are_found_together() -> None:
    wider = with_pairs(belief(TWO))
    first = wider.suspects()[0]
    assert first.suspect == "loom+w_low"
    assert first.probability > 0.9
    assert wider.explained > 0.01


def test_the_repair_of_a_pair_is_both_repairs() -> None:
    wider = with_pairs(belief(TWO))
    both, circuit = wider.model.suspects[wider.model.suspect_index["loom+w_low"]], wider.model.circuit
    assert circuit.wire_repair is not None
    assert both.repair.minutes == circuit.repairs["loom"].minutes + circuit.wire_repair.minutes
    assert both.repair.parts == circuit.repairs["loom"].parts + circuit.wire_repair.parts


def test_one_fault_needs_no_pairs() -> None:
    single = belief(TWO[:1])
    assert single.suspects()[0].suspect == "w_low"
    assert single.suspects()[0].probability > CONCLUDED
    assert with_pairs(single) is single


def test_pairs_are_added_once_and_the_prior_stays_one() -> None:
    wider = with_pairs(belief(TWO))
    assert with_pairs(wider) is wider
    assert wider.model.hypotheses.prior.sum() == pytest.approx(1.0)
    assert np.isclose(wider.by_suspect().sum(), 1.0)


def test_one_fault_is_more_likely_than_two_where_both_explain_all() -> None:
    wider = with_pairs(belief(TWO))
    start = Belief.start(wider.model).by_suspect()
    names = [s.name for s in wider.model.suspects]
    pairs = sum(p for n, p in zip(names, start, strict=True) if "+" in n)
    assert pairs < 0.01
