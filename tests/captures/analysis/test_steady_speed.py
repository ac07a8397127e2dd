"""Cranking and idle speed over whole turns."""

from __future__ import annotations

import numpy as np
import pytest

from captures.analysis.matched import matched
from captures.synthetic import Motion, cranking, missing_teeth, pass_sensor, steady, sweep
from proveout.captures.analysis.steady_speed import SteadySpeed, steady_speeds, turn_speeds
from proveout.captures.analysis.turn_grid import turn_grid


def speeds(motion: Motion, **spoilt: float) -> tuple[SteadySpeed, ...]:
    passing = pass_sensor(missing_teeth(60, 2), motion, np.random.default_rng(3), **spoilt)  # type: ignore[arg-type]
    return steady_speeds(turn_grid(matched(passing)))


def test_cranking_then_idle_are_told_apart_and_exact() -> None:
    motion = cranking(200, 8, ripple=0.3).then(sweep(200, 1500, 3)).then(sweep(1500, 800, 8)).then(steady(800, 30))
    found = speeds(motion, tooth_error=0.02)
    kinds = [s.kind for s in found]
    assert kinds[0] == "cranking"
    assert kinds[-1] == "idle"
    assert 60 * found[-1].speed == pytest.approx(800, rel=0.01)
    # The mean over time of a speed that swings as a cosine over the angle is sqrt(1 - r^2) of it (hand).
    assert 60 * found[0].speed == pytest.approx(200 * np.sqrt(1 - 0.3**2), rel=0.01)


def test_tooth_errors_do_not_move_the_speed_of_a_turn() -> None:
    grid = turn_grid(
        matched(pass_sensor(missing_teeth(60, 2), steady(800, 9), np.random.default_rng(1), tooth_error=0.05))
    )
    assert turn_speeds(grid).speed * 60 == pytest.approx(800, rel=1e-9)


def test_the_uncertainty_covers_the_truth_when_the_edges_jitter() -> None:
    away = []
    for seed in range(40):
        passing = pass_sensor(missing_teeth(60, 2), steady(800, 20), np.random.default_rng(seed), jitter=0.02)
        (only,) = steady_speeds(turn_grid(matched(passing)))
        away.append((60 * only.speed - 800) / (60 * only.uncertainty))
    assert np.mean(np.abs(away) < 2) > 0.85


def test_a_sweep_has_no_steady_speed() -> None:
    assert speeds(sweep(300, 6000, 12)) == ()


def test_a_fast_stretch_is_neither_cranking_nor_idle() -> None:
    assert [s.kind for s in speeds(steady(3000, 20))] == ["other"]
