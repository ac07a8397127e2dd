"""Edges: the detector against a plain loop, sines with known crossings, and records with holes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from numpy.typing import NDArray

from proveout.captures.analysis.crossings import Thresholds, crossings, find_edges
from proveout.captures.analysis.levels import suggest_thresholds
from proveout.captures.capture import Clock
from proveout.errors import InputError


def plain(x: NDArray[np.float64], low: float, level: float, high: float) -> tuple[list[float], list[bool]]:
    """The definition, one sample at a time."""
    positions: list[float] = []
    rising: list[bool] = []
    state: bool | None = None
    passed = {True: 0.5, False: 0.5}
    for i, value in enumerate(x):
        if i and x[i - 1] < level <= value:
            passed[True] = i - 1 + (level - x[i - 1]) / (value - x[i - 1])
        if i and x[i - 1] >= level > value:
            passed[False] = i - 1 + (level - x[i - 1]) / (value - x[i - 1])
        new = True if value >= high else False if value < low else state
        if state is not None and new is not None and new != state:
            positions.append(passed[new])
            rising.append(new)
        state = new
    return positions, rising


@settings(deadline=None)
@given(
    hnp.arrays(np.float64, st.integers(0, 700), elements=st.integers(-6, 6).map(float)),
    st.integers(1, 7),
    st.sampled_from([0.0, 1.0, 5.0]),
)
def test_any_number_of_pieces_gives_the_edges_of_the_definition(
    x: NDArray[np.float64], threads: int, hysteresis: float
) -> None:
    positions, rising = crossings(x, Thresholds.at(0.5, hysteresis), threads=threads)
    expected, directions = plain(x, 0.5 - hysteresis / 2, 0.5, 0.5 + hysteresis / 2)
    np.testing.assert_allclose(positions, expected, atol=1e-12)
    assert rising.tolist() == directions


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_a_sine_is_timed_to_a_small_part_of_a_sample(kind: type) -> None:
    count, tooth, phase = 3_000_000, 73.3, 0.21
    x: NDArray[np.float64] = np.sin(2 * np.pi * (np.arange(count) / tooth + phase)).astype(kind)
    edges = find_edges(x, Clock(rate=1e6), Thresholds.at(0.0, 0.5), threads=2)
    expected = (np.arange(edges.times.size) / 2 + 0.5 - phase) * tooth * 1e-6
    assert edges.times.size == int(2 * (count / tooth + phase))
    assert np.abs(edges.times - expected).max() < 2e-3 * 1e-6
    assert np.all(edges.rising == (np.arange(edges.times.size) % 2 == 1))


def test_noise_within_the_hysteresis_makes_no_edges() -> None:
    rng = np.random.default_rng(20)
    clean = np.sin(2 * np.pi * np.arange(200_000) / 200)
    noisy = clean + rng.normal(0, 0.0707, clean.size)
    positions, _ = crossings(noisy, suggest_thresholds(noisy))
    assert positions.size == pytest.approx(2000, abs=1)


def test_missing_samples_neither_make_nor_hide_an_edge() -> None:
    x = np.array([0.0, 0.0, np.nan, np.nan, 1.0, 1.0, np.nan, 1.0, 0.0])
    positions, rising = crossings(x, Thresholds.at(0.5, 0.2))
    assert positions.tolist() == [2.5, 7.5]
    assert rising.tolist() == [True, False]


def test_over_range_marks_count_as_beyond_the_threshold() -> None:
    positions, _ = crossings(np.array([-np.inf, np.inf, 0.0]), Thresholds.at(0.5))
    assert positions.tolist() == [0.5, 1.5]


def test_a_list_of_changes_has_its_edges_at_the_changes() -> None:
    clock = Clock(times=np.array([0.0, 0.010, 0.015, 0.040]), holds=True)
    edges = find_edges(np.array([0.0, 1.0, 0.0, 1.0]), clock, Thresholds.at(0.5))
    assert edges.times.tolist() == [0.010, 0.015, 0.040]


def test_uneven_samples_are_timed_between_their_own_times() -> None:
    clock = Clock(times=np.array([0.0, 1.0, 5.0, 6.0]))
    edges = find_edges(np.array([0.0, 0.0, 1.0, 1.0]), clock, Thresholds.at(0.25))
    assert edges.times.tolist() == [2.0]


def test_thresholds_may_follow_an_amplitude_that_grows() -> None:
    x = np.concatenate([0.1 * np.sin(np.arange(1000) / 10), 10 * np.sin(np.arange(1000) / 10)])
    one = crossings(x, Thresholds.at(0.0, 4.0))[0]
    steps = Thresholds(np.array([-0.02, -2.0]), np.zeros(2), np.array([0.02, 2.0]), stretch=1000)
    assert one.size < crossings(x, steps)[0].size
    assert np.sum(crossings(x, steps)[0] < 1000) == pytest.approx(2000 / (20 * np.pi), abs=1)


def test_a_constant_signal_has_no_thresholds() -> None:
    with pytest.raises(InputError, match="all the same"):
        suggest_thresholds(np.full(100, 3.3))


def test_samples_that_are_no_row_of_numbers_are_refused() -> None:
    with pytest.raises(InputError, match="one row"):
        crossings(np.zeros((2, 2)), Thresholds.at(0.0))


def test_thresholds_out_of_order_are_refused() -> None:
    with pytest.raises(InputError, match="out of order"):
        Thresholds(np.array([1.0]), np.array([0.0]), np.array([2.0]))
