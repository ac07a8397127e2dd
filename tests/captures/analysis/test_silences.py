"""A signal that goes away and comes back is seen to, with no wheel known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from captures.synthetic import (
    CutWheel,
    Motion,
    coast_down,
    cranking,
    lobes,
    missing_teeth,
    pass_sensor,
    run_lengths,
    steady,
    sweep,
)
from proveout.captures.analysis.silences import silences


def rising(wheel: CutWheel, motion: Motion, gone: tuple[tuple[float, float], ...] = ()) -> np.ndarray:
    times = pass_sensor(wheel, motion, np.random.default_rng(1), tooth_error=0.01).only(True).times
    for first, last in gone:
        times = times[(times < first) | (times > last)]
    return times


def test_two_dropouts_are_found_with_their_times() -> None:
    motion = cranking(220, 8, ripple=0.25)
    found = silences(rising(missing_teeth(60, 2), motion, ((0.5, 0.56), (1.2, 1.25))))
    assert [s.start for s in found] == pytest.approx([0.5, 1.2], abs=0.02)
    assert [s.end for s in found] == pytest.approx([0.56, 1.25], abs=0.02)
    assert min(s.edges for s in found) >= 8


@settings(max_examples=40, deadline=None)
@given(
    wheel=st.sampled_from([missing_teeth(60, 2), missing_teeth(36, 1), missing_teeth(12, 1), missing_teeth(4, 1),
                           run_lengths("36-2-2-2", 36, [(13, 2), (16, 2), (1, 2)]),
                           lobes("4", [(0, 20), (60, 120), (180, 190), (300, 330)])]),
    rpm=st.floats(80, 6000), ripple=st.floats(0, 0.5),
)  # fmt: skip
def test_no_gap_of_a_wheel_is_a_silence(wheel: CutWheel, rpm: float, ripple: float) -> None:
    assert silences(rising(wheel, cranking(rpm, 12, ripple=ripple))) == ()


def test_a_stop_and_a_change_of_speed_are_no_silence() -> None:
    assert silences(rising(missing_teeth(60, 2), sweep(200, 6000, 8))) == ()
    assert silences(rising(missing_teeth(60, 2), coast_down(900, 8, last=0.1))) == ()
    stopped = steady(800, 4).then(Motion(np.array([0.0, 0.5]), np.array([0.0, 1e-6]))).then(cranking(60, 4, ripple=0.1))
    assert silences(rising(missing_teeth(60, 2), stopped)) == ()


def test_few_edges_tell_nothing() -> None:
    assert silences(np.array([0.0, 1.0, 2.0, 30.0, 31.0])) == ()
