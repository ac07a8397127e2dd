"""Levels, noise, resolution and clipping against values that are set, transitions against RC."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from proveout.captures.analysis.crossings import crossings
from proveout.captures.analysis.extent import extent
from proveout.captures.analysis.levels import find_levels, suggest_thresholds
from proveout.captures.analysis.transitions import transition_time
from proveout.errors import InputError


def square(count: int, period: int, duty: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """scipy.signal.square, from 0 to 1."""
    return (signal.square(2 * np.pi * np.arange(count) / period + 1e-9, duty) + 1) / 2


def test_a_two_wire_sensor_shows_the_published_7_and_14_milliampere() -> None:
    # Two-wire wheel-speed sensor: low 7 mA (5.9 to 8.4), high 14 mA (11.8 to 16.8): a workshop manual's table.
    rng = np.random.default_rng(714)
    current = 0.007 + 0.007 * square(200_000, 400, 0.5) + rng.normal(0, 0.0002, 200_000)
    levels = find_levels(current)
    assert abs(levels.low - 0.007) < 4 * levels.low_error < 1e-5
    assert abs(levels.high - 0.014) < 4 * levels.high_error < 1e-5
    assert 0.0059 < levels.low < 0.0084 and 0.0118 < levels.high < 0.0168
    assert levels.noise == pytest.approx(0.0002, rel=0.05)


@pytest.mark.parametrize("duty", [0.43, 0.53, 0.63])
def test_the_duty_of_a_gear_tooth_sensor_is_found(duty: float) -> None:
    # Duty 43, 53, 63 %: data sheet of a gear-tooth Hall sensor (ATS645LSH, p. 4).
    levels = find_levels(5.0 * square(100_000, 1000, duty))
    assert levels.duty == pytest.approx(duty, abs=0.002)


@settings(deadline=None, max_examples=50)
@given(st.floats(-20, 20), st.floats(0.05, 20), st.floats(0.1, 0.9), st.floats(0.001, 0.08), st.integers(0, 2**32 - 1))
def test_any_two_levels_are_found_within_their_uncertainty(
    low: float, swing: float, duty: float, noise: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    levels = find_levels(low + swing * (square(20_000, 173, duty) + rng.normal(0, noise, 20_000)))
    assert abs(levels.low - low) < 6 * levels.low_error + 1e-9 * abs(low)
    assert abs(levels.high - low - swing) < 6 * levels.high_error + 1e-9 * abs(low)
    assert levels.noise == pytest.approx(noise * swing, rel=0.15)


def test_the_recorders_step_is_found() -> None:
    rng = np.random.default_rng(8)
    smooth = 3 * np.sin(np.arange(50_000) / 70) + rng.normal(0, 0.05, 50_000)
    step = 10 / 256
    levels = find_levels((np.round(smooth / step) * step).astype(np.float32))
    assert levels.resolution == pytest.approx(step, rel=1e-3)
    assert find_levels(smooth).resolution == 0.0


def test_clipping_is_told_from_the_turning_points_of_a_sine() -> None:
    sine = 3 * np.sin(np.arange(100_000) / 50)
    whole, cut = find_levels(sine), find_levels(np.clip(sine, -5, 2).astype(np.float32))
    assert whole.clipped_high == whole.clipped_low == cut.clipped_low == 0.0
    # A sine is above two thirds of its amplitude for arccos(2/3) / pi of the time.
    assert cut.clipped_high == pytest.approx(np.arccos(2 / 3) / np.pi, abs=0.01)


def test_a_glitch_does_not_move_the_levels() -> None:
    voltage = 5.0 * square(50_000, 500, 0.5)
    voltage[25_100:25_103] = 40.0
    levels = find_levels(voltage)
    assert (levels.low, levels.high) == pytest.approx((0.0, 5.0), abs=1e-9)
    assert levels.extent.greatest == 40.0


def test_the_extent_is_that_of_plain_numpy_and_leaves_out_what_is_no_number() -> None:
    rng = np.random.default_rng(3)
    values = rng.normal(size=700_001)
    found = extent(values, threads=3)
    assert (found.least, found.greatest, found.missing) == (values.min(), values.max(), 0)
    assert found.mean == pytest.approx(values.mean(), abs=1e-12)
    values[[5, 600_000]] = np.nan, np.inf
    found = extent(values, threads=3)
    finite = values[np.isfinite(values)]
    assert (found.least, found.greatest, found.missing, found.usable) == (finite.min(), finite.max(), 2, finite.size)


@pytest.mark.parametrize("values", [np.full(100, np.nan), np.empty(0)])
def test_no_usable_sample_is_said_so(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> None:
    with pytest.raises(InputError, match="none of the"):
        find_levels(values)


def test_one_sample_has_a_level_and_no_swing() -> None:
    levels = find_levels(np.array([1.5]))
    assert levels.low == levels.high == 1.5
    assert levels.swing == 0.0


def test_the_rise_time_of_a_resistor_and_capacitor_is_2_197_time_constants() -> None:
    # ln 9 R C from 10 to 90 %: any textbook; IEEE Std 181-2011 for the reference levels.
    period, constant = 4000, 120.0
    voltage = signal.lfilter([1 - np.exp(-1 / constant)], [1, -np.exp(-1 / constant)], square(200_000, period, 0.5))
    levels = find_levels(voltage)
    positions, rising = crossings(voltage, suggest_thresholds(voltage, levels))
    for up in (True, False):
        found = transition_time(voltage, positions, rising, 0.0, 1.0, up=up)
        assert found is not None and found.resolved
        assert found.samples == pytest.approx(np.log(9) * constant, rel=0.01)


def test_an_edge_between_two_samples_is_not_given_a_rise_time() -> None:
    voltage = square(10_000, 100, 0.5)
    positions, rising = crossings(voltage, suggest_thresholds(voltage))
    found = transition_time(voltage, positions, rising, 0.0, 1.0, up=True)
    assert found is not None and not found.resolved
