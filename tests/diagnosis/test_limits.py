"""The computed band of a sound vehicle beside the manual's limit."""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis import divider
from diagnosis.drawn_vehicles import draw_sound
from diagnosis.ready import model
from proveout.diagnosis import Belief
from proveout.diagnosis.advice_model import Band
from proveout.diagnosis.limits import explain_limit, limit_band, limit_note, sound_band, within
from proveout.instruments import Function


@pytest.mark.parametrize("circuit", ["crank-hall-5v", "starter", "coolant-ntc"])
def test_95_of_100_sound_vehicles_read_within_the_band(circuit: str) -> None:
    known, rng = model(circuit), np.random.default_rng(14)
    names = [n for n in known.column if sound_band(known, n).shown != "OL"]
    inside = []
    for vehicle in draw_sound(known, 60, rng):
        for name in names:
            reading = vehicle.reading(name, slips=False)
            inside.append(within(sound_band(known, name), reading.value, reading.over_limit))
    assert np.mean(inside) == pytest.approx(0.95, abs=0.015)


def test_the_band_of_a_divider_is_two_standard_deviations_by_hand() -> None:
    # V = 6 V; battery 2 %, pull-up 3 % and sensor 5 % at half weight each; meter (0.5 % + 2 counts) / sqrt 3; 5 mV.
    band = sound_band(divider.model(), "at_pin")
    meter = (0.005 * 6.0 + 0.002) / np.sqrt(3.0)
    deviation = np.sqrt(0.12**2 + 0.09**2 + 0.15**2 + meter**2 + 0.005**2)
    assert band.low == pytest.approx(6.0 - 1.96 * deviation, rel=2e-3)
    assert band.high == pytest.approx(6.0 + 1.96 * deviation, rel=2e-3)


def test_no_continuity_is_shown_as_over_limit() -> None:
    known = model("crank-hall-5v")
    assert sound_band(known, "ref_low_ohms").shown == "OL"
    assert limit_band(known, "ref_low_ohms") == Band(None, None, "OL")


@pytest.mark.parametrize(
    ("band", "value", "over", "inside"),
    [
        (Band(4.8, 5.2, ""), 5.0, False, True),
        (Band(4.8, 5.2, ""), 5.3, False, False),
        (Band(None, 1.0, ""), 0.3, False, True),
        (Band(2.0, None, ""), 1.0, False, False),
        (Band(None, None, "OL"), None, True, True),
        (Band(None, None, "OL"), 3.0, False, False),
        (Band(None, 1.0, ""), None, True, False),
        (Band(None, 1.0, ""), None, False, False),
    ],
)
def test_a_reading_is_within_a_band_or_not(band: Band, value: float | None, over: bool, inside: bool) -> None:
    assert within(band, value, over) is inside


def test_a_limit_that_is_too_wide_to_see_a_fault_is_explained() -> None:
    known = model("crank-hall-5v")
    start = Belief.start(known)
    wide = known.meter.read(Function.OHMS, 0.9)
    assert "too wide" in explain_limit(known, start, "sig_continuity", wide)
    sound = known.meter.read(Function.OHMS, 0.1)
    assert explain_limit(known, start, "sig_continuity", sound) == ""


def test_a_limit_of_another_circuit_is_explained() -> None:
    known = divider.model()
    text = explain_limit(known, Belief.start(known), "at_harness", known.meter.read(Function.VOLTS_DC, 6.52))
    assert text == "" or "another circuit" in text
    low = known.meter.read(Function.VOLTS_DC, 5.65)
    assert explain_limit(known, Belief.start(known), "at_harness", low) == ""


def test_a_note_says_where_sound_circuits_leave_the_limit() -> None:
    assert limit_note(divider.model(), "feed") == ""
    assert limit_note(model("crank-hall-5v"), "reference_at_ce") == ""
