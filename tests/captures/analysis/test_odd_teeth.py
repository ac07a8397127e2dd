"""Damaged, missing and extra teeth, with their angle from the gap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from captures.analysis.matched import matched
from captures.synthetic import CutWheel, cranking, missing_teeth, pass_sensor, steady
from proveout.captures.analysis import odd_teeth
from proveout.captures.analysis.tooth_spacing import learn_spacing
from proveout.captures.analysis.turn_grid import turn_grid
from proveout.captures.analysis.wheel import WheelFit

WHEEL = missing_teeth(60, 2)


def bent(place: int, pitches: float) -> CutWheel:
    moved = list(WHEEL.rise)
    moved[place] += pitches / 60
    return replace(WHEEL, rise=tuple(moved))


def found_on(wheel: CutWheel, tooth_error: float = 0.005, seed: int = 1) -> tuple[odd_teeth.OddTooth, ...]:
    rng = np.random.default_rng(seed)
    passing = pass_sensor(wheel, cranking(250, 30, ripple=0.3), rng, tooth_error=tooth_error, jitter=0.002)
    grid = turn_grid(matched(replace(passing, nominal=WHEEL)))
    return odd_teeth.displaced_teeth(grid.angles, learn_spacing(grid))


@pytest.mark.parametrize("place", [5, 23, 40])
@pytest.mark.parametrize("pitches", [0.1, -0.2])
def test_a_bent_tooth_is_found_at_its_angle_with_its_displacement(place: int, pitches: float) -> None:
    (tooth,) = found_on(bent(place, pitches))
    assert (tooth.kind, tooth.place) == ("displaced", place)
    assert 360 * tooth.angle == pytest.approx(6 * place)
    assert tooth.size == pytest.approx(pitches, abs=0.25 * abs(pitches))


def test_a_wheel_within_its_tolerance_has_no_damaged_tooth() -> None:
    assert sum(len(found_on(WHEEL, 0.01, seed)) for seed in range(20)) <= 1


def fit_without(place: int, turns: int = 12) -> WheelFit:
    fit = matched(pass_sensor(WHEEL, steady(600, turns), np.random.default_rng(2)))
    keep = fit.place != place
    return WheelFit(fit.wheel, 1.0, fit.times[keep], fit.place[keep], fit.turn[keep], fit.lost)


def test_a_tooth_that_never_shows_is_missing_and_one_lost_now_and_then_is_not() -> None:
    (tooth,) = odd_teeth.missing_teeth(turn_grid(fit_without(17)))
    assert (tooth.kind, tooth.place, tooth.size) == ("missing", 17, 1.0)
    assert 360 * tooth.angle == pytest.approx(102)
    dropping = matched(pass_sensor(WHEEL, steady(600, 12), np.random.default_rng(2), lost=5))
    assert odd_teeth.missing_teeth(turn_grid(dropping)) == ()


def test_a_burr_that_gives_an_edge_every_turn_is_an_extra_tooth() -> None:
    fit = matched(pass_sensor(WHEEL, steady(600, 12), np.random.default_rng(2)))
    burr = 0.1 * (np.arange(1, 12) + 0.5042)
    times = np.sort(np.concatenate([fit.times, burr]))
    at = np.searchsorted(times, fit.times)
    place, turn = np.full(times.size, -1), np.full(times.size, -1)
    place[at], turn[at] = fit.place, fit.turn
    spoilt = WheelFit(fit.wheel, 1.0, times, place, turn, fit.lost)
    (tooth,) = odd_teeth.extra_teeth(spoilt, turn_grid(spoilt))
    assert (tooth.kind, tooth.place) == ("extra", 30)
    assert 360 * tooth.angle == pytest.approx(360 * 0.5042, abs=0.1)


def test_stray_edges_at_changing_angles_are_no_tooth() -> None:
    passing = pass_sensor(WHEEL, steady(600, 12), np.random.default_rng(2), extra=10)
    fit = matched(passing)
    assert odd_teeth.extra_teeth(fit, turn_grid(fit)) == ()


def test_a_chipped_tooth_is_weak_and_the_teeth_beside_the_gap_are_not() -> None:
    angles = np.asarray(WHEEL.rise)
    amplitude = 1.0 + 0.1 * np.cos(2 * np.pi * angles) + np.random.default_rng(3).normal(0, 0.01, 58)
    amplitude[0] *= 0.7
    amplitude[33] *= 0.6
    (tooth,) = odd_teeth.weak_teeth(angles, amplitude, 0.01)
    assert (tooth.kind, tooth.place) == ("weak", 33)
    assert tooth.size == pytest.approx(0.4, abs=0.05)
