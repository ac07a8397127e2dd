"""Glitches of a level: jumps that are put in are found, and what a level may do by itself is none."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from proveout.captures.analysis.glitches import find_glitches
from proveout.captures.capture import Clock

RATE = 10_000.0


def pedal(rng: np.random.Generator, count: int = 40_000, noise: float = 0.004) -> NDArray[np.float64]:
    """A pedal pressed, held and let go (invented)."""
    at = np.arange(count) / count
    return np.interp(at, [0, 0.2, 0.3, 0.6, 0.7, 1], [0.5, 0.5, 3.8, 3.8, 0.5, 0.5]) + rng.normal(0, noise, count)


def test_a_pedal_that_moves_fast_has_no_glitch() -> None:
    assert find_glitches(pedal(np.random.default_rng(1)), Clock(rate=RATE), 0.004, 0.0) == ()


@settings(deadline=None, max_examples=40)
@given(st.integers(500, 39_000), st.integers(1, 400), st.floats(0.3, 3.0), st.sampled_from([-1, 1]), st.integers(0, 99))
def test_a_jump_and_back_is_found_with_its_time_and_its_size(
    first: int, length: int, size: float, side: int, seed: int
) -> None:
    level = pedal(np.random.default_rng(seed))
    level[first : first + length] += side * size
    found = find_glitches(level, Clock(rate=RATE), 0.004, 0.0)
    assert len(found) == 1
    assert found[0].start == pytest.approx(first / RATE, abs=1e-3)
    assert found[0].end == pytest.approx((first + length - 1) / RATE, abs=1e-3)
    assert found[0].extreme - found[0].level == pytest.approx(side * size, abs=0.5)


def test_a_step_that_stays_is_no_glitch() -> None:
    level = np.where(np.arange(20_000) < 9_000, 1.0, 4.0) + np.random.default_rng(3).normal(0, 0.01, 20_000)
    assert find_glitches(level, Clock(rate=RATE), 0.01, 0.0) == ()


def test_white_noise_alone_has_none_in_a_million_samples() -> None:
    level = np.random.default_rng(4).normal(2.5, 0.01, 1_000_000)
    assert find_glitches(level, Clock(rate=1e6), 0.01, 0.0) == ()


def test_missing_samples_are_no_glitch() -> None:
    level = pedal(np.random.default_rng(5))
    level[10_000:10_300] = np.nan
    assert find_glitches(level, Clock(rate=RATE), 0.004, 0.0) == ()


def test_too_short_a_record_has_none() -> None:
    assert find_glitches(np.array([0.0, 9.0, 0.0]), Clock(rate=RATE), 0.0, 0.0) == ()
