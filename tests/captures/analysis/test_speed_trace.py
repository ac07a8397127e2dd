"""The speed between teeth, against the motion that the edges were made from."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from captures.analysis.matched import matched
from captures.synthetic import (
    CutWheel,
    coast_down,
    cranking,
    even_teeth,
    lobes,
    missing_teeth,
    pass_sensor,
    steady,
    sweep,
)
from proveout.captures.analysis.coast_down import spacing_from_coast_down
from proveout.captures.analysis.speed_trace import speed_trace
from proveout.captures.analysis.tooth_spacing import learn_spacing
from proveout.captures.analysis.turn_grid import turn_grid
from proveout.captures.analysis.wheel import Wheel, WheelFit
from proveout.errors import InputError


def generator() -> np.random.Generator:
    return np.random.default_rng(11)


def test_steady_speed_is_exact() -> None:
    grid = turn_grid(matched(pass_sensor(missing_teeth(60, 2), steady(600, 6), generator())))
    assert speed_trace(grid, learn_spacing(grid)).speed == pytest.approx(10.0, rel=1e-6)


def test_ripple_is_followed_within_a_tenth_of_a_per_cent() -> None:
    motion = cranking(250, 20, ripple=0.3)
    grid = turn_grid(matched(pass_sensor(missing_teeth(60, 2), motion, generator())))
    trace = speed_trace(grid, learn_spacing(grid))
    inner = slice(4, -4)
    away = trace.speed / motion.speed(trace.times) - 1
    assert np.sqrt(np.mean(away[inner] ** 2)) < 1e-3


def test_noisy_edges_widen_the_window_and_the_uncertainty_is_what_is_seen() -> None:
    motion = sweep(600, 700, 60)
    grid = turn_grid(matched(pass_sensor(missing_teeth(60, 2), motion, generator(), jitter=0.01)))
    trace = speed_trace(grid, learn_spacing(grid))
    away = (trace.speed - motion.speed(trace.times)) / trace.uncertainty
    assert trace.width >= 8
    assert np.sqrt(np.median(away**2)) == pytest.approx(0.6745, rel=0.3)


def test_spacing_learnt_from_a_coast_down_takes_the_whole_error_out() -> None:
    motion = coast_down(900, 40, last=0.3, ripple=0.05)
    grid = turn_grid(matched(pass_sensor(missing_teeth(60, 2), motion, generator(), tooth_error=0.01)))
    plain = speed_trace(grid, learn_spacing(grid))
    better = speed_trace(grid, spacing_from_coast_down(grid))
    rough, fine = (np.std((t.speed / motion.speed(t.times))[9:-9]) for t in (plain, better))
    assert fine < 0.2 * rough
    # What the plain trace says that it does not know is about as large as its error is.
    assert 0.3 < plain.confounded / rough < 3.0
    assert better.confounded < 0.1 * plain.confounded


def test_a_lost_tooth_is_bridged_and_marked() -> None:
    motion = cranking(250, 12, ripple=0.2)
    grid = turn_grid(matched(pass_sensor(missing_teeth(60, 2), motion, generator(), lost=3)))
    trace = speed_trace(grid, learn_spacing(grid))
    assert np.count_nonzero(trace.filled) in (5, 6)
    away = trace.speed / motion.speed(trace.times) - 1
    assert np.max(np.abs(away[trace.filled])) < 0.01


@settings(max_examples=25, deadline=None)
@given(
    wheel=st.sampled_from([missing_teeth(60, 2), missing_teeth(36, 1), missing_teeth(12, 1), even_teeth(8),
                           lobes("3", [(0, 40), (120, 150), (240, 300)])]),
    rpm=st.floats(60, 7000), ripple=st.floats(0, 0.35), error=st.floats(0, 0.02), seed=st.integers(0, 99),
)  # fmt: skip
def test_any_wheel_gives_positive_speeds_whose_mean_over_turns_is_right(
    wheel: CutWheel, rpm: float, ripple: float, error: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    grid = turn_grid(matched(pass_sensor(wheel, cranking(rpm, 10, ripple=ripple), rng, tooth_error=error)))
    trace = speed_trace(grid, learn_spacing(grid))
    assert np.all(trace.speed > 0)
    assert np.all(np.isfinite(trace.uncertainty))
    steps = np.diff(np.append(trace.angles, trace.angles[-1] + (trace.angles[-1] - trace.angles[-2])))
    mean = np.sum(steps) / np.sum(steps / trace.speed)
    assert mean == pytest.approx(
        1 / np.mean(1 / (rpm / 60 * (1 - ripple * np.cos(np.linspace(0, 2 * np.pi, 999))))), rel=0.12
    )


def test_two_edges_give_no_speed() -> None:
    wheel = Wheel("4", (0.0, 0.25, 0.5, 0.75))
    fit = WheelFit(wheel, 1.0, np.array([0.0, 0.1]), np.array([0, 1]), np.array([0, 0]), np.empty((0, 2), np.int64))
    grid = turn_grid(fit)
    with pytest.raises(InputError, match="2 edges"):
        speed_trace(grid, learn_spacing(grid))


def test_a_shaft_that_turns_back_is_refused() -> None:
    wheel = Wheel("4", (0.0, 0.25, 0.5, 0.75))
    fit = WheelFit(
        wheel, 1.0, np.array([0.2, 0.1, 0.3]), np.arange(3), np.zeros(3, np.int64), np.empty((0, 2), np.int64)
    )
    with pytest.raises(InputError, match="turned back"):
        turn_grid(fit)


def test_no_wheel_gives_no_angles() -> None:
    none = WheelFit(
        None, 0.0, np.zeros(0), np.zeros(0, np.int64), np.zeros(0, np.int64), np.empty((0, 2), np.int64), "noise"
    )
    with pytest.raises(InputError, match="noise"):
        turn_grid(none)
