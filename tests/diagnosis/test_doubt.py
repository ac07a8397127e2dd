"""The reading at odds with the rest, and what the drawing lacks, on vehicles whose every reading is ngspice's."""

from __future__ import annotations

import pytest

from diagnosis import divider
from diagnosis.ready import model
from proveout.circuits.schema import Part
from proveout.diagnosis import Belief, ReadingTaken
from proveout.diagnosis.doubt import doubt_text, missing_connections, reading_at_odds
from reference import Situation, reading

CORRODED = [("at_unit", 9.0), ("at_harness", 9.0), ("at_pin", 3.0), ("feed", 12.0)]


def volts(readings: list[tuple[str, float]]) -> Belief:
    known = divider.model()
    belief = Belief.start(known)
    for name, value in readings:
        belief = belief.after(ReadingTaken(name, known.meter.read(known.function(name), value)))
    return belief


@pytest.mark.parametrize("wrong", ["at_unit", "feed"])
def test_leaving_one_out_names_the_wrong_reading(wrong: str) -> None:
    readings = [(name, 4.0 if name == wrong else value) for name, value in CORRODED]
    assert reading_at_odds(volts(readings)) == wrong


def test_a_doubtful_reading_is_asked_for_again_in_words() -> None:
    assert "fits nothing well: take it again" in doubt_text(volts([*CORRODED[:3], ("feed", 4.0)]))
    assert doubt_text(volts(CORRODED)) == ""


def test_readings_that_nothing_explains_put_the_drawing_in_doubt() -> None:
    impossible = volts([("at_unit", 2.0), ("at_harness", 9.0), ("at_pin", 5.0), ("feed", 7.0)])
    assert "the drawing may lack a connection" in doubt_text(impossible)


def connected(first: str, second: str, resistance: float, names: tuple[str, ...]) -> Belief:
    """The belief after readings at a sound crank circuit that has one resistor more than the drawing."""
    known = model("crank-hall-5v")
    extra = Part(kind="resistor", nodes=[first, second], values={"resistance": resistance})
    truth = known.circuit.model_copy(update={"parts": {**known.circuit.parts, "extra": extra}})
    belief = Belief.start(known)
    for name in names:
        shown = known.meter.read(known.function(name), reading(Situation(truth, "key_on"), name, known.meter))
        belief = belief.after(ReadingTaken(name, shown))
    return belief


@pytest.mark.slow
@pytest.mark.parametrize(("first", "second", "resistance"), [("ecm_cam", "sig_e", 300.0), ("bat", "sig_s", 1500.0)])
def test_a_resistor_that_the_drawing_lacks_is_found_with_its_two_nodes(
    first: str, second: str, resistance: float
) -> None:
    names = ("signal_low_at_ce", "signal_high_at_ce", "bias_at_cs", "sig_stray", "sig_ground_ohms", "signal_ac_at_ce")
    belief = connected(first, second, resistance, names)
    assert belief.explained < 0.1
    best = missing_connections(belief)[0]
    assert {best.first, best.second} == {first, second}
    assert 0.4 < best.resistance / resistance < 2.5
    assert best.gain > 10.0


def test_no_connection_is_missed_where_the_sheet_explains_all() -> None:
    assert missing_connections(volts(CORRODED)) == ()
    assert missing_connections(Belief.start(divider.model())) == ()
