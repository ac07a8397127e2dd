"""Direction: published pulse lengths, two tracks, and a shaft that rolls back as it stops."""

import numpy as np
import pytest

from captures.synthetic import rocking_stop, steady, sweep
from captures.synthetic.motion import Motion
from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.pulse_direction import direction_of_pulses
from proveout.captures.analysis.quadrature import quadrature
from proveout.captures.analysis.reversals import reversals

# Pulse length 45 µs and its doubles: user's guide of a wheel-speed sensor simulator; which says what: from memory.
ONE_WAY, OTHER_WAY = 90e-6, 180e-6


def coded(motion: Motion, teeth: int = 48) -> tuple[Edges, tuple[float, float]]:
    """Pulses of a direction-coding sensor, and when the shaft turned back."""
    passed = motion.crossings(np.arange(teeth) / teeth)
    widths = np.where(passed.forward, ONE_WAY, OTHER_WAY)
    times = np.stack([passed.times, passed.times + widths], axis=1).ravel()
    back = passed.times[~passed.forward]
    rising = np.tile([True, False], passed.times.size)
    return Edges(times, rising), (float(back.min()), float(back.max())) if back.size else (0.0, 0.0)


def tracks(motion: Motion, shift: float = 0.25, teeth: int = 40) -> tuple[Edges, Edges]:
    """Two tracks of one ring, the second `shift` of a period further on."""
    edges = []
    for offset in (0.0, shift):
        starts = (np.arange(teeth) + offset) / teeth
        passed = motion.crossings(np.concatenate([starts, starts + 0.5 / teeth]) % 1.0)
        edges.append(Edges(passed.times, (passed.which < teeth) == passed.forward))
    return edges[0], edges[1]


def test_steady_driving_has_one_length_and_no_roll_back() -> None:
    found = direction_of_pulses(coded(steady(300, 10))[0])
    assert [(round(1e6 * entry.published), entry.count) for entry in found.lengths] == [(90, 480)]
    assert found.reversals == () and found.unknown == 0


def test_a_roll_back_is_found_and_timed_by_pulse_lengths() -> None:
    edges, (start, end) = coded(rocking_stop(sweep(300, 60, 5), back=0.15))
    found = direction_of_pulses(edges)
    assert found.reversals[0].start == pytest.approx(start)
    assert found.reversals[-1].end == pytest.approx(end)
    assert found.reversals[0].steps >= 4


def test_two_tracks_tell_the_same_roll_back() -> None:
    motion = rocking_stop(sweep(300, 60, 5), back=0.15)
    found = quadrature(*tracks(motion))
    passed = motion.crossings(np.arange(160) / 160)
    back = passed.times[~passed.forward]
    pitch_time = 1 / 160 / 0.2
    assert found.plausible
    assert found.reversals[0].start == pytest.approx(back.min(), abs=pitch_time)


def test_the_travel_of_two_tracks_counts_both_ways() -> None:
    motion = steady(120, 3)
    found = quadrature(*tracks(motion))
    assert abs(found.position[-1]) == pytest.approx(3 * 160, abs=3)
    assert found.shift == pytest.approx(0.25, abs=0.01)
    turned = Motion(motion.times, -motion.angles)
    assert np.sign(quadrature(*tracks(turned)).position[-1]) == -np.sign(found.position[-1])


def test_two_unrelated_tracks_are_not_taken_for_a_pair() -> None:
    first, _ = tracks(steady(120, 3))
    _, second = tracks(steady(133, 3))
    assert not quadrature(first, second).plausible


def test_a_single_trembling_edge_is_no_roll_back() -> None:
    sense = np.array([1, 1, -1, 1, 1, -1, -1, -1, 1, 1], dtype=np.int8)
    found = reversals(np.arange(10.0), sense)
    assert [(back.start, back.end, back.steps) for back in found] == [(5.0, 7.0, 3)]


def test_pulses_of_other_lengths_are_counted_as_unknown() -> None:
    times = np.repeat(np.arange(20) * 1e-3, 2) + np.tile([0.0, 128e-6], 20)
    found = direction_of_pulses(Edges(times, np.tile([True, False], 20)))
    assert found.unknown == 20 and not np.any(found.sense)


def test_no_edges_say_nothing() -> None:
    none = Edges(np.empty(0), np.empty(0, dtype=np.bool_))
    assert direction_of_pulses(none).lengths == ()
    assert not quadrature(none, none).plausible
