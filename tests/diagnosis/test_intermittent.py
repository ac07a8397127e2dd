"""Faults that come and go, as a technician works on them: at rest, wiggled, and gone."""

from __future__ import annotations

from fnmatch import fnmatchcase
from functools import cache

import numpy as np
import pytest

from diagnosis.coming_mixture import CIRCUIT, SUSPECTS, drawn_readings, posterior, taken
from diagnosis.ready import model
from proveout.circuits import NO_FAULT_NOW, intermittent_modes, read_circuit, ready_circuit, ready_names
from proveout.circuits.schema import Circuit, Look
from proveout.diagnosis import Belief, Evidence, Model, OutcomeSeen, ReadingTaken, Shop, advise, compile_model
from proveout.diagnosis.doubt import doubt_text
from proveout.diagnosis.hypotheses import DISTURBED, PRESENCE, presence_disturbed
from proveout.instruments import Function, default_meter

CRANK = "crank-hall-5v"
CAME_WITH = OutcomeSeen("behaviour", "start", "late", past=True)
STARTS_NOW = OutcomeSeen("behaviour", "start", "normal")
CODE_CLEAR = OutcomeSeen("behaviour", "p0335", "clear")
SPEED_SHOWN = OutcomeSeen("behaviour", "engine_speed", "shown")
# What a sound sensor circuit on a 5 V reference shows: common practice.
GOOD = (
    ("reference_at_ce", 5.0),
    ("reference_over_low_at_ce", 5.0),
    ("signal_low_at_ce", 0.15),
    ("signal_high_at_ce", 5.0),
)


def volts(measurement: str, value: float, *, wiggled: bool = False) -> ReadingTaken:
    function = Function(ready_circuit(CRANK).measurements[measurement].function)
    return ReadingTaken(measurement, default_meter().read(function, value), disturbed=wiggled)


def after(*evidence: Evidence, of: Model | None = None) -> Belief:
    belief = Belief.start(of or model(CRANK))
    for one in evidence:
        belief = belief.after(one)
    return belief


def at_rest() -> Belief:
    return after(CAME_WITH, STARTS_NOW, *(volts(name, value) for name, value in GOOD))


def wiggled(belief: Belief, look: str, outcome: str) -> Belief:
    return belief.after(OutcomeSeen("look", look, outcome))


def coming_share(belief: Belief, suspect: str) -> float:
    h = belief.model.hypotheses
    mine = (h.suspect == belief.model.suspect_index[suspect]) & (h.presence < 1.0)
    return float(belief.weight[mine].sum())


def test_a_fault_at_rest_reads_good_so_readings_alone_leave_no_fault_present_now() -> None:
    belief = at_rest()
    assert belief.suspects()[0].suspect == NO_FAULT_NOW
    assert belief.probability(NO_FAULT_NOW) < 0.97, "four good readings do not prove that nothing comes and goes"
    assert belief.probability("ce_terminal") > 0.005


def test_what_changes_while_the_plug_is_wiggled_makes_its_terminal_the_leading_suspect() -> None:
    before = after(CAME_WITH, STARTS_NOW)
    changed, steady = wiggled(before, "wiggle_ce", "changes"), wiggled(before, "wiggle_ce", "steady")
    assert changed.suspects()[0].suspect == "ce_terminal"
    assert coming_share(changed, "ce_terminal") > 0.95 * changed.probability("ce_terminal")
    assert changed.probability(NO_FAULT_NOW) < 0.5 * before.probability(NO_FAULT_NOW)
    assert steady.probability("ce_terminal") < before.probability("ce_terminal")
    assert steady.probability(NO_FAULT_NOW) > before.probability(NO_FAULT_NOW)


def test_a_past_complaint_with_all_good_now_is_a_fault_that_is_gone_or_one_that_comes_and_goes() -> None:
    belief = at_rest().after(CODE_CLEAR).after(SPEED_SHOWN)
    h = belief.model.hypotheses
    steady = (h.variant >= 0) & (h.presence == 1.0)
    assert belief.weight[steady].sum() < 0.005
    assert belief.weight[h.presence < 1.0].sum() > 0.99


def test_a_steady_fault_does_not_care_about_wiggling_and_one_that_was_cured_stays_away() -> None:
    np.testing.assert_allclose(presence_disturbed(np.array([1.0, 0.0, PRESENCE])), [1.0, 0.0, DISTURBED])


def test_a_bad_reading_taken_while_wiggling_speaks_more_for_a_fault_that_comes_and_goes() -> None:
    # By hand: the odds against all steady faults go with the presence, 0.7 for 0.3.
    good = at_rest()
    rest, moved = (good.after(volts("reference_over_low_at_ce", 2.3, wiggled=w)) for w in (False, True))
    odds = [b.probability("ce_terminal") / b.probability(NO_FAULT_NOW) for b in (good, rest, moved)]
    assert odds[2] - odds[0] == pytest.approx((odds[1] - odds[0]) * DISTURBED / PRESENCE, rel=0.05)


def test_a_good_reading_taken_while_wiggling_speaks_more_against_it() -> None:
    rest, moved = (after(OutcomeSeen("behaviour", "start", "normal", disturbed=w)) for w in (False, True))
    odds = [coming_share(b, "cs_terminal") / b.probability(NO_FAULT_NOW) for b in (rest, moved)]
    assert odds[1] < 0.75 * odds[0]


def test_a_fault_that_showed_itself_twice_is_no_reason_to_doubt_the_drawing() -> None:
    belief = at_rest().after(volts("reference_over_low_at_ce", 2.3))
    assert "take it again" in doubt_text(belief)
    again = belief.after(volts("reference_at_ce", 5.0)).after(volts("reference_over_low_at_ce", 2.3))
    assert again.suspects()[0].suspect == "ce_terminal"
    assert again.explained > 0.05
    assert not doubt_text(again)


def test_a_fault_that_was_only_away_when_the_plug_was_reseated_may_come_back() -> None:
    shown = at_rest().after(volts("reference_over_low_at_ce", 2.3)).after(volts("reference_over_low_at_ce", 2.3))
    reseated = shown.after(OutcomeSeen("trial", "reseat_ce", "cured"))
    back = reseated.after(volts("reference_over_low_at_ce", 2.3))
    assert back.suspects()[0].suspect == "ce_terminal"
    h = back.model.hypotheses
    coming = (h.suspect == back.model.suspect_index["ce_terminal"]) & (h.presence < 1.0)
    assert (reseated.presence[coming] < PRESENCE).all()
    assert (reseated.presence[coming] > 0.0).all()


@pytest.mark.parametrize("seen", [(), (CODE_CLEAR, SPEED_SHOWN)], ids=["as it came", "display and code good"])
def test_nothing_is_dismantled_for_a_complaint_that_is_not_there_now(seen: tuple[Evidence, ...]) -> None:
    advice = advise(after(CAME_WITH, STARTS_NOW, *seen), Shop())
    assert advice.best.name == NO_FAULT_NOW or not advice.best.access_steps
    if seen:
        offered = [advice.best, *advice.others]
        assert NO_FAULT_NOW in {step.name for step in offered}
        assert "wiggle_loom" in {step.name for step in offered}
        assert advice.best.name in {NO_FAULT_NOW, "wiggle_loom"}


def wiggle_tests(circuit: Circuit) -> dict[str, Look]:
    return {name: look for name, look in circuit.looks.items() if set(look.outcomes) == {"steady", "changes"}}


def chance_of_change(look: Look, reference: str) -> float:
    for pattern, chances in look.given.items():
        if pattern.endswith("~") and fnmatchcase(reference, pattern[:-1]):
            return chances["changes"]
    return 0.0


@pytest.mark.parametrize("name", ready_names())
def test_every_plug_wire_and_contact_that_may_come_and_go_has_a_wiggle_test_that_moves_it(name: str) -> None:
    circuit = ready_circuit(name)
    tests = wiggle_tests(circuit)
    for reference in intermittent_modes(circuit):
        part = circuit.parts[reference.split(".")[0]]
        best = max((chance_of_change(look, reference) for look in tests.values()), default=0.0)
        if part.kind in {"terminal", "fuse"}:
            assert best >= 0.6, reference
        elif part.kind == "wire":
            assert best >= 0.1, reference


@pytest.mark.parametrize("name", ready_names())
def test_a_wiggle_test_unplugs_nothing_and_warns_where_the_engine_turns(name: str) -> None:
    circuit = ready_circuit(name)
    for test, look in wiggle_tests(circuit).items():
        assert not look.connector, test
        setup = circuit.setups[look.setup]
        assert not setup.unplugged, test
        assert look.otherwise["changes"] <= 0.02
        if look.setup in {"cranking", "idle"}:
            assert "rotating-parts" in {*look.cautions, *setup.cautions}, test


@cache
def two_contacts() -> Model:
    return compile_model(read_circuit(CIRCUIT, "two-contacts.yaml"), default_meter())


def test_the_belief_is_that_of_the_mixture_worked_out_by_brute_force() -> None:
    """Forty vehicles, first seed [5, 0]; the belief lays severities on a grid and spreads each cell as a Gaussian."""
    away = []
    for k in range(40):
        rng = np.random.default_rng([5, k])
        readings = drawn_readings(default_meter(), 6, rng)
        belief = after(*readings, of=two_contacts())
        wanted = posterior(default_meter(), readings, 40_000, rng)
        away.append(np.abs([belief.probability(s) for s in SUSPECTS] - wanted).max())
    assert np.mean(away) < 0.015
    assert np.max(away) < 0.08


@pytest.mark.parametrize("contact", [1.0, 1.4, 2.0, 2.9, 4.2, 6.1, 8.8, 12.7, 18.4, 26.6])
def test_a_bad_contact_of_whatever_resistance_is_known_when_it_shows_twice(contact: float) -> None:
    meter, there = default_meter(), 12.0 * contact / (10.015 + contact)
    seen = [taken(meter, "ground_drop", v, wiggled=True) for v in (0.006, there, 0.006, there)]
    assert after(*seen, of=two_contacts()).probability("t_ground") > 0.9
