"""A picture of any stretch shows exactly the least and the most of what lies under each of its columns."""

from __future__ import annotations

import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from proveout.captures import Clock
from proveout.captures.pyramid import FACTOR, Pyramid, build, level_sizes, open_pyramid, write_pyramid
from proveout.errors import InputError, StoreError


def plainly(samples: NDArray[np.float32], bounds: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the extremes by looking at every sample, with NumPy."""
    rows = []
    for begin, end in pairwise(bounds):
        part = samples[begin:end]
        known = part[~np.isnan(part)]
        rows.append((known.min(), known.max()) if known.size else (np.nan, np.nan))
    return np.array(rows, dtype=float)


@settings(max_examples=150, deadline=None)
@given(
    seed=st.integers(0, 2**32),
    count=st.integers(1, 20_000),
    share=st.sampled_from([0.0, 0.01, 0.5, 0.99, 1.0]),
    place=st.tuples(st.floats(0, 1), st.floats(0, 1)),
    columns=st.integers(1, 300),
)
def test_the_extremes_are_exact_at_every_zoom_with_missing_samples_passed_over(
    seed: int, count: int, share: float, place: tuple[float, float], columns: int
) -> None:
    draw = np.random.default_rng(seed)
    samples = draw.normal(size=count).astype(np.float32)
    samples[draw.random(count) < share] = np.nan
    first, last = sorted(int(p * (count - 1)) for p in place)
    last += 1
    bounds = first + (last - first) * np.arange(columns + 1) // columns
    np.testing.assert_array_equal(build(samples).envelope(first, last, columns), plainly(samples, bounds))


@pytest.mark.parametrize("count", [1, 2, FACTOR - 1, FACTOR, FACTOR + 1, FACTOR**2 - 1, FACTOR**2, FACTOR**3 + 5])
def test_levels_go_down_to_one_value(count: int) -> None:
    sizes = level_sizes(count)
    assert (sizes[-1] if sizes else count) == 1
    samples = np.arange(count, dtype=np.float64)
    np.testing.assert_array_equal(build(samples).envelope(0, count, 1), [[0, count - 1]])


def test_more_columns_than_samples_leave_columns_empty() -> None:
    envelope = build(np.array([1, 2], np.float32)).envelope(0, 2, 4)
    np.testing.assert_array_equal(envelope[:, 0], [np.nan, 1, np.nan, 2])


def test_uneven_samples_are_cut_by_time() -> None:
    times = np.array([0.0, 0.1, 0.2, 5.0, 9.99])
    pyramid = build(np.array([1, 7, 3, -2, 4], np.float32))
    envelope = pyramid.envelope_between(Clock(times=times), 0.0, 10.0, 10)
    np.testing.assert_array_equal(envelope[[0, 5, 9]], [[1, 7], [-2, -2], [4, 4]])
    assert np.isnan(envelope[[1, 2, 3, 4, 6, 7, 8]]).all()


def test_a_value_that_holds_fills_the_columns_up_to_the_next_change() -> None:
    times = np.array([0.0, 5.0, 10.0])
    envelope = build(np.array([0, 1, 0], np.float32)).envelope_between(Clock(times=times, holds=True), -1.0, 11.0, 12)
    np.testing.assert_array_equal(envelope[:, 0], [np.nan, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 0])
    np.testing.assert_array_equal(envelope[:, 1], [np.nan, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 0])


def test_values_that_hold_may_be_evenly_spaced() -> None:
    clock = Clock(rate=0.2, holds=True)
    envelope = build(np.array([0, 1, 0], np.float32)).envelope_between(clock, -1.0, 11.0, 12)
    np.testing.assert_array_equal(envelope[:, 1], [np.nan, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 0])


def test_even_samples_by_time_are_those_by_number() -> None:
    samples = np.random.default_rng(3).normal(size=10_000).astype(np.float32)
    pyramid = build(samples)
    by_time = pyramid.envelope_between(Clock(start=2.0, rate=1000.0), 3.0, 5.0, 100)
    np.testing.assert_array_equal(by_time, pyramid.envelope(1000, 3000, 100))


@pytest.mark.parametrize(("first", "last"), [(-1, 5), (0, 11), (5, 5), (7, 3)])
def test_a_stretch_that_is_not_there_is_refused(first: int, last: int) -> None:
    with pytest.raises(InputError, match="samples 0 to 10"):
        build(np.zeros(10, np.float32)).envelope(first, last, 3)


def test_a_picture_without_columns_or_samples_is_refused() -> None:
    with pytest.raises(InputError, match="0 columns"):
        build(np.zeros(10, np.float32)).envelope(0, 10, 0)
    with pytest.raises(InputError, match="no sample"):
        build(np.zeros(0, np.float32))


def test_a_pyramid_in_a_file_is_mapped_and_belongs_to_its_samples(tmp_path: Path) -> None:
    samples = np.random.default_rng(4).normal(size=5000).astype(np.float32)
    written = write_pyramid(samples, tmp_path / "a.npy")
    opened = open_pyramid(samples, tmp_path / "a.npy")
    assert isinstance(opened.extremes, np.memmap)
    for pyramid in (written, opened):
        np.testing.assert_array_equal(pyramid.envelope(7, 4001, 33), build(samples).envelope(7, 4001, 33))
    with pytest.raises(StoreError, match="does not belong"):
        open_pyramid(samples[:100], tmp_path / "a.npy")
    (tmp_path / "a.npy").write_bytes(b"no array")
    with pytest.raises(StoreError, match="cannot be read"):
        open_pyramid(samples, tmp_path / "a.npy")


def _best(pyramid: Pyramid, columns: int) -> float:
    taken = []
    for _ in range(5):
        begin = time.perf_counter()
        pyramid.envelope(3, pyramid.samples.size - 5, columns)
        taken.append(time.perf_counter() - begin)
    return min(taken)


@pytest.mark.slow
def test_a_hundred_million_samples_are_a_picture_in_ten_milliseconds() -> None:
    samples = np.random.default_rng(5).random(100_000_000, dtype=np.float32)
    begin = time.perf_counter()
    pyramid = build(samples)
    assert time.perf_counter() - begin < 3.0  # on a busy machine; 0.2 s on an idle one
    assert pyramid.extremes.nbytes < samples.nbytes / 7
    assert _best(pyramid, 1000) < 0.010
