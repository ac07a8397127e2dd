"""What evidence does to the belief: slips, doubts, repetitions, order, trials, repairs."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

import numpy as np
import pytest

from diagnosis.divider import model as divider
from diagnosis.ready import model
from proveout.diagnosis import Belief, OutcomeSeen, ReadingTaken, RepairDone
from proveout.diagnosis.advice import CONCLUDED
from proveout.diagnosis.evidence import Evidence
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE
from proveout.errors import InputError
from proveout.instruments import Reading

SOUND = [("at_unit", 6.0), ("at_pin", 6.0), ("feed", 12.0)]
CORRODED = [("at_unit", 9.0), ("at_harness", 9.0), ("at_pin", 3.0)]


def seen(volts: Sequence[tuple[str, float]], belief: Belief | None = None) -> Belief:
    """The belief after some voltages at the divider."""
    known = divider()
    belief = Belief.start(known) if belief is None else belief
    for name, value in volts:
        belief = belief.after(ReadingTaken(name, known.meter.read(known.function(name), value)))
    return belief


def test_a_drop_across_a_mated_terminal_convicts_it() -> None:
    assert seen(CORRODED).probability("terminal") > CONCLUDED


def test_one_slip_does_not_decide_a_case() -> None:
    wrong = seen([("at_harness", 0.0)], seen(SOUND))
    assert wrong.suspects()[0].suspect == NO_FAULT_NOW
    assert seen([("feed", 4.0)], seen(CORRODED)).probability("terminal") > 0.95


def test_a_surprising_reading_asks_to_be_taken_again_and_a_second_that_agrees_lifts_the_doubt() -> None:
    doubted = seen([("at_harness", 0.0)], seen(SOUND))
    assert doubted.doubtful == {"at_harness"}
    for again in (6.0, 0.0):
        assert seen([("at_harness", again)], doubted).doubtful == frozenset()


def test_a_surprising_reading_that_comes_again_is_no_slip_any_more() -> None:
    once = seen([("at_harness", 0.0)], seen(SOUND))
    twice = seen([("at_harness", 0.0)], once)
    assert once.explained > 0.01 > twice.explained
    assert twice.probability(NONE_OF_THESE) > 2.0 * once.probability(NONE_OF_THESE)


def test_impossible_readings_raise_none_of_these() -> None:
    impossible = seen([("at_unit", 2.0), ("at_harness", 9.0), ("at_pin", 5.0), ("feed", 7.0)])
    assert impossible.probability(NONE_OF_THESE) > CONCLUDED
    assert impossible.explained < 0.01


def test_what_fits_is_explained_well_and_one_slip_is_no_scandal() -> None:
    assert seen(CORRODED).explained > 0.05
    assert 0.01 < seen([("feed", 4.0)], seen(CORRODED)).explained < 0.1


@pytest.mark.parametrize("readings", [SOUND, CORRODED, [*CORRODED, ("feed", 4.0)]])
def test_evidence_in_another_order_gives_nearly_the_same_belief(readings: list[tuple[str, float]]) -> None:
    beliefs = [seen(order).by_suspect() for order in permutations(readings)]
    assert max(0.5 * np.abs(b - beliefs[0]).sum() for b in beliefs) < 0.01


def test_evidence_in_another_order_gives_nearly_the_same_belief_on_a_ready_circuit() -> None:
    known, rng = model("crank-hall-5v"), np.random.default_rng(5)
    row = known.predictions.variants[10].first + 9
    names = [str(n) for n in rng.choice(list(known.circuit.measurements), 7, replace=False)]
    values = {n: float(known.predictions.mean[row, known.column[n]]) for n in names}
    found = []
    for _ in range(6):
        belief = Belief.start(known)
        for name in rng.permutation(names).tolist():
            belief = belief.after(ReadingTaken(name, known.meter.read(known.function(name), values[name])))
        found.append(belief.by_suspect())
    assert max(0.5 * np.abs(b - found[0]).sum() for b in found) < 0.02


def test_a_reading_that_was_not_taken_changes_nothing() -> None:
    before = seen(SOUND)
    after = before.after(ReadingTaken("at_harness", Reading.unread("V")))
    assert np.array_equal(after.weight, before.weight)
    assert len(after.evidence) == len(before.evidence) + 1


def test_an_open_sensor_reads_over_limit_and_a_sound_one_does_not() -> None:
    known = model("coolant-ntc")
    open_sensor = next(v for v in known.predictions.variants if v.faults[0].reference == "sensor.open")
    ohms = [
        n
        for n, m in known.circuit.measurements.items()
        if m.function == "ohms"
        and known.predictions.mean[open_sensor.first, known.column[n]]
        > 5e7
        > known.predictions.mean[0, known.column[n]]
    ]
    belief = Belief.start(known).after(ReadingTaken(ohms[0], Reading.over("ohm")))
    assert belief.probability("coolant_sensor") > Belief.start(known).probability("coolant_sensor")
    assert belief.probability(NO_FAULT_NOW) < 0.05


def test_a_complaint_of_the_past_does_not_speak_against_a_fault_that_comes_and_goes() -> None:
    known = model("crank-hall-5v")
    h, start = known.hypotheses, Belief.start(known)
    comes = (h.presence < 1.0) & (h.variant >= 0)
    now = start.after(OutcomeSeen("behaviour", "start", "none"))
    once = start.after(OutcomeSeen("behaviour", "start", "none", past=True))
    assert once.weight[comes].sum() > now.weight[comes].sum()
    assert once.probability(NO_FAULT_NOW) > now.probability(NO_FAULT_NOW)


def test_a_cure_by_reseating_points_at_the_terminals_of_that_connector() -> None:
    start = seen([("at_unit", 9.0)])
    cured = start.after(OutcomeSeen("trial", "reseat", "cured"))
    same = start.after(OutcomeSeen("trial", "reseat", "same"))
    assert cured.probability("terminal") > 0.9
    assert same.probability("terminal") < start.probability("terminal")


def test_a_repair_that_cures_was_the_right_one() -> None:
    start = seen([("at_unit", 9.0)])
    assert start.after(RepairDone("wire", cured=True)).probability("wire") > 0.9
    assert start.after(RepairDone("wire", cured=False)).probability("wire") < 0.02


def test_probabilities_stay_probabilities() -> None:
    for readings in (SOUND, CORRODED, [("feed", 0.0)] * 6, [("at_pin", 900.0)] * 3):
        belief = seen(readings)
        assert belief.by_suspect().sum() == pytest.approx(1.0)
        assert np.isfinite(belief.log_weight).all()


@pytest.mark.parametrize(
    "evidence",
    [
        ReadingTaken("nowhere", Reading.over("V")),
        OutcomeSeen("behaviour", "gauge", "explodes"),
        OutcomeSeen("look", "nothing", "clean"),
        RepairDone("flux", cured=True),
    ],
)
def test_evidence_that_the_circuit_does_not_know_is_refused_with_a_choice(evidence: Evidence) -> None:
    with pytest.raises(InputError, match="choose one of"):
        Belief.start(divider()).after(evidence)


def test_one_fault_mode_is_named_only_where_it_is_settled_else_the_likely_ones_with_their_shares() -> None:
    for belief in (seen([]), seen(SOUND), seen(CORRODED), seen([("at_unit", 12.0), ("at_harness", 12.0)])):
        chances = {ref: chance for ref, _, chance in belief.fault_probabilities()}
        for opinion in belief.suspects():
            within = belief.faults_within(opinion.suspect)
            for ref, _, share in within:
                assert share * opinion.probability == pytest.approx(chances[ref], rel=1e-9)
            told = belief.likely_faults(opinion.suspect)
            if within and within[0][2] >= 0.8:
                assert (belief.settled_fault(opinion.suspect), told) == (within[0][0], within[0][1])
            else:
                assert belief.settled_fault(opinion.suspect) == ""
                assert [title in told for _, title, _ in within] == [share > 0.1 for _, _, share in within]


def test_two_fault_modes_that_no_reading_tells_apart_are_a_coin_toss_and_none_is_named() -> None:
    # From nothing but the start a suspect with several modes keeps them in the proportion of their frequencies.
    belief = seen([])
    open_ones = [o.suspect for o in belief.suspects() if len(belief.faults_within(o.suspect)) > 1]
    assert any(not belief.settled_fault(s) and " or " in belief.likely_faults(s) for s in open_ones)
    assert belief.likely_faults(NO_FAULT_NOW) == ""
