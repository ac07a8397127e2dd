"""The wheel found from edges alone; truth is how the wheel was cut and turned."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from captures.synthetic import (
    RELUCTANCE,
    CutWheel,
    Passing,
    Sensor,
    added_tooth,
    coast_down,
    cranking,
    even_teeth,
    missing_teeth,
    pass_sensor,
    record,
    run_lengths,
    steady,
    sweep,
    width_coded,
)
from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.pattern import find_wheel
from proveout.captures.analysis.wheel import WheelFit
from proveout.captures.capture import Channel, Clock
from proveout.captures.study import ChannelStudy

LISTED = [
    missing_teeth(60, 2),
    missing_teeth(36, 1),
    missing_teeth(24, 1),
    missing_teeth(12, 1),
    missing_teeth(4, 1),
    run_lengths("36-2-2-2", 36, [(13, 2), (16, 2), (1, 2)]),
    added_tooth(12),
]


def edges_of(passing: Passing) -> Edges:
    return Edges(passing.times, passing.up)


def on_tooth(fit: WheelFit, passing: Passing) -> float:
    """Share of the edges that stand on their tooth."""
    return float(np.mean(fit.place == passing.only(fit.rising).place))


@pytest.mark.parametrize("wheel", LISTED, ids=lambda wheel: wheel.name)
def test_a_cranking_engine_shows_its_wheel_under_ripple_and_tooth_errors(wheel: CutWheel) -> None:
    motion = cranking(200, 9, ripple=0.3, run_up=0.5, start=0.4, phase=0.1)
    passing = pass_sensor(wheel, motion, np.random.default_rng(41), tooth_error=0.02, jitter=0.01)
    fit = find_wheel(edges_of(passing))
    assert fit.wheel is not None
    assert fit.wheel.name == wheel.name
    assert fit.probability > 0.95
    assert on_tooth(fit, passing) > 0.97


@pytest.mark.parametrize("motion", [steady(800, 8, 0.3), sweep(200, 2500, 12, 0.3), coast_down(900, 10, ripple=0.3)])
def test_a_wheel_is_found_at_any_speed_that_a_shaft_can_have(motion: object) -> None:
    passing = pass_sensor(missing_teeth(60, 2), motion, np.random.default_rng(42), tooth_error=0.02)  # type: ignore[arg-type]
    fit = find_wheel(edges_of(passing))
    assert fit.wheel is not None
    assert fit.wheel.name == "60-2"
    assert on_tooth(fit, passing) == 1.0


def test_lost_and_extra_edges_are_told_apart_from_gaps() -> None:
    motion = cranking(200, 10, ripple=0.3, start=0.2)
    passing = pass_sensor(missing_teeth(36, 1), motion, np.random.default_rng(43), tooth_error=0.01, lost=4, extra=3)
    fit = find_wheel(edges_of(passing))
    assert fit.wheel is not None
    assert on_tooth(fit, passing) > 0.99
    first = passing.only(fit.rising).turn[0]
    assert {(t + first, p) for t, p in fit.lost.tolist()} == {tuple(pulse) for pulse in passing.lost.tolist()}
    assert np.sum(fit.place < 0) == 3


def test_a_pattern_that_no_list_has_is_described() -> None:
    wheel = run_lengths("24 places: 17 on 1 off, 5 on 1 off", 24, [(17, 1), (5, 1)])
    passing = pass_sensor(wheel, cranking(220, 12, ripple=0.2), np.random.default_rng(44), tooth_error=0.01)
    fit = find_wheel(edges_of(passing))
    assert fit.wheel is not None
    assert fit.wheel.slots == 24
    assert np.allclose(fit.wheel.angles, wheel.rise) or fit.wheel.name == wheel.name
    assert fit.wheel.teeth == 22


def test_a_list_is_not_needed() -> None:
    passing = pass_sensor(missing_teeth(60, 2), steady(700, 10), np.random.default_rng(45), tooth_error=0.02)
    fit = find_wheel(edges_of(passing), [])
    assert fit.wheel is not None
    assert fit.wheel.name == "60-2"


def test_widths_carry_the_code_where_one_edge_is_even() -> None:
    code = [1, 0, 0, 0, 1, 1, 0, 1, 0, 1, 1, 1, 0, 0, 1, 0, 0, 0, 0, 1, 1, 1, 1, 0]
    passing = pass_sensor(width_coded(code), cranking(200, 8, ripple=0.3), np.random.default_rng(46), tooth_error=0.01)
    fit = find_wheel(edges_of(passing))
    assert fit.wheel is not None
    assert fit.wheel.name == "24 width-coded"
    assert not fit.rising
    shift = (fit.place - passing.only(False).place) % 24
    assert np.all(shift == shift[0])
    wide = np.asarray(fit.wheel.widths) > 0.5
    assert np.array_equal(np.roll(wide, -int(shift[0])), np.asarray(code) == 1)


@pytest.mark.parametrize("teeth", [4, 12, 60])
def test_a_wheel_without_marks_cannot_tell_its_teeth(teeth: int) -> None:
    passing = pass_sensor(even_teeth(teeth), cranking(200, 14, ripple=0.3), np.random.default_rng(47), tooth_error=0.02)
    fit = find_wheel(edges_of(passing))
    assert fit.wheel is None
    assert fit.even, fit.reason
    assert "nothing marks a turn" in fit.reason


@pytest.mark.parametrize("turns", [0.9, 1.3])
def test_less_than_two_turns_are_not_enough(turns: float) -> None:
    passing = pass_sensor(missing_teeth(60, 2), steady(700, turns, 0.5), np.random.default_rng(48))
    fit = find_wheel(edges_of(passing))
    assert fit.wheel is None
    assert fit.reason


def test_a_handful_of_edges_says_so() -> None:
    fit = find_wheel(Edges(np.linspace(0.0, 0.5, 6), np.arange(6) % 2 == 0))
    assert fit.wheel is None
    assert "at least 8" in fit.reason


def test_a_broken_tooth_does_not_make_another_wheel() -> None:
    whole, gone = missing_teeth(60, 2), 20
    broken = replace(
        whole, rise=whole.rise[:gone] + whole.rise[gone + 1 :], fall=whole.fall[:gone] + whole.fall[gone + 1 :]
    )
    passing = pass_sensor(broken, cranking(200, 10, ripple=0.3), np.random.default_rng(49), tooth_error=0.01)
    fit = find_wheel(edges_of(passing))
    assert fit.wheel is not None
    assert fit.wheel.name == "60-2"
    assert set(fit.lost[:, 1].tolist()) == {gone}
    assert "as many gaps would look the same" in fit.reason


@pytest.mark.parametrize("polarity", [1, -1])
def test_a_coil_with_its_leads_swapped_shows_the_same_wheel_on_the_other_edge(polarity: int) -> None:
    sensor = Sensor("reluctance", 0.0, RELUCTANCE.high, polarity=polarity)
    motion = cranking(200, 8, ripple=0.3, start=0.3)
    recording = record(missing_teeth(36, 1), motion, sensor, np.random.default_rng(50), tooth_error=0.005)
    fit = ChannelStudy(Channel("crank", "V", recording.samples, Clock(rate=recording.rate))).wheel
    assert fit.wheel is not None
    assert fit.wheel.name == "36-1"
    assert fit.rising == (polarity < 0)
    assert fit.edge


def test_a_million_edges_take_about_a_second_and_all_stand_on_their_teeth() -> None:
    motion = sweep(300, 3000, 5000, 0.2)
    passing = pass_sensor(missing_teeth(60, 2), motion, np.random.default_rng(51), tooth_error=0.01, lost=9, extra=9)
    fit = find_wheel(edges_of(passing))
    assert fit.wheel is not None
    assert on_tooth(fit, passing) > 0.9999
    assert fit.lost.shape == (9, 2)


def test_candidates_come_with_probabilities_that_add_up() -> None:
    passing = pass_sensor(missing_teeth(12, 1), cranking(200, 6, ripple=0.5), np.random.default_rng(52))
    fit = find_wheel(edges_of(passing))
    chances = [candidate.probability for candidate in fit.candidates]
    assert chances == sorted(chances, reverse=True)
    assert sum(chances) <= 1 + 1e-9
