"""Amplitudes between edges against a plain loop, and ringing taken out without breaking the turn of the edges."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from numpy.typing import NDArray

from proveout.captures.analysis.crossings import Thresholds, crossings
from proveout.captures.analysis.half_cycles import half_cycles
from proveout.captures.analysis.weak_half_cycles import without_weak_half_cycles


@settings(deadline=None)
@given(hnp.arrays(np.float64, st.integers(0, 300), elements=st.integers(-9, 9).map(float)), st.integers(1, 5))
def test_the_extreme_of_every_half_cycle_is_that_of_a_plain_loop(x: NDArray[np.float64], threads: int) -> None:
    positions, rising = crossings(x, Thresholds.at(0.5))
    found = half_cycles(x, positions, rising, threads=threads)
    cuts = np.ceil(positions).astype(int)
    expected = [
        (max if up else min)(x[a : max(b, a + 1)]) for a, b, up in zip(cuts[:-1], cuts[1:], rising[:-1], strict=True)
    ]
    assert found.tolist() == expected


def test_missing_samples_do_not_hide_a_peak() -> None:
    x = np.array([-1.0, 1.0, np.nan, 3.0, -1.0, -2.0, 1.0])
    positions, rising = crossings(x, Thresholds.at(0.0))
    assert half_cycles(x, positions, rising).tolist() == [3.0, -2.0]


def test_ringing_is_taken_out_and_edges_still_take_turns() -> None:
    sine = np.sin(2 * np.pi * np.arange(20_000) / 200)
    ringing = sine.copy()
    # Around every tenth downward crossing the signal trembles by a tenth of its amplitude.
    for start in range(100, 20_000, 2000):
        ringing[start - 6 : start + 6] = 0.1 * np.array([1, 1, -1, -1, 1, 1, -1, -1, 1, 1, -1, -1])
    positions, rising = crossings(ringing, Thresholds.at(0.0, 0.1))
    keep = without_weak_half_cycles(rising, half_cycles(ringing, positions, rising), 0.0)
    clean, directions = crossings(sine, Thresholds.at(0.0, 0.1))
    assert positions.size > clean.size == keep.sum()
    assert np.all(np.diff(rising[keep].astype(int)) != 0)
    assert rising[keep].tolist() == directions.tolist()
    assert np.abs(positions[keep] - clean).max() < 8


@given(hnp.arrays(np.float64, st.integers(10, 60), elements=st.floats(0.01, 3.0)))
def test_whatever_is_taken_out_rising_and_falling_edges_alternate(sizes: NDArray[np.float64]) -> None:
    rising = np.arange(sizes.size + 1) % 2 == 0
    peaks = np.where(rising[:-1], sizes, -sizes)
    kept = rising[without_weak_half_cycles(rising, peaks, 0.0)]
    assert np.all(np.diff(kept.astype(int)) != 0)
