"""The made signals against what they were made from."""

from __future__ import annotations

import numpy as np
import pytest

from captures.synthetic import (
    HALL,
    RELUCTANCE,
    TWO_WIRE,
    Sensor,
    added_tooth,
    coast_down,
    cranking,
    missing_teeth,
    pass_sensor,
    record,
    rocking_stop,
    run_lengths,
    steady,
    width_coded,
)


def generator() -> np.random.Generator:
    return np.random.default_rng(31)


def test_a_steady_wheel_gives_its_teeth_at_their_angles() -> None:
    passing = pass_sensor(missing_teeth(60, 2), steady(600, 3), generator()).only(True)
    assert np.sum(passing.turn == 1) == 58
    assert passing.times[passing.turn == 1] == pytest.approx(0.1 * (1 + np.arange(58) / 60), abs=1e-9)


def test_names_of_wheels_count_their_teeth() -> None:
    assert missing_teeth(36, 1).teeth == 35
    assert run_lengths("36-2-2-2", 36, [(13, 2), (16, 2), (1, 2)]).teeth == 30
    assert added_tooth(12).teeth == 13
    coded = width_coded([0, 1, 1, 0])
    assert np.diff(coded.fall) == pytest.approx(0.25)


def test_ripple_swings_the_speed_by_its_share_of_the_mean() -> None:
    motion = cranking(200, 4, ripple=0.3)
    speed = motion.speed(motion.times)
    assert np.min(speed) == pytest.approx(0.7 * 200 / 60, rel=1e-3)
    assert np.max(speed) == pytest.approx(1.3 * 200 / 60, rel=1e-3)


def test_a_stop_rolls_back_and_gives_the_last_teeth_again_in_reverse() -> None:
    motion = rocking_stop(coast_down(200, 2), back=0.06)
    passing = pass_sensor(missing_teeth(60, 2), motion, generator()).only(True)
    back = np.flatnonzero(~passing.forward)
    assert back.size >= 2
    assert np.max(motion.angles) - motion.angles[np.argmax(motion.angles) :].min() == pytest.approx(0.06, rel=0.1)


def test_lost_and_extra_pulses_are_told() -> None:
    passing = pass_sensor(missing_teeth(36, 1), steady(600, 5), generator(), lost=3, extra=2)
    assert passing.lost.shape == (3, 2)
    assert np.sum(passing.place < 0) == 4
    assert np.all(np.diff(passing.times) > 0)
    assert np.all(passing.up[1:] != passing.up[:-1])


def test_reluctance_grows_with_speed_and_crosses_zero_over_the_tooth() -> None:
    slow, fast = (record(missing_teeth(36), steady(rpm, 3), RELUCTANCE, generator()) for rpm in (150, 600))
    assert np.max(fast.samples) == pytest.approx(5.0, rel=0.02)
    assert np.max(fast.samples) / np.max(slow.samples) == pytest.approx(4.0, rel=0.02)
    at = np.interp(fast.marks.times, np.arange(fast.samples.size) / fast.rate, fast.samples)
    assert np.max(np.abs(at)) < 0.15


@pytest.mark.parametrize("sensor", [HALL, TWO_WIRE, Sensor("switching", 0.0, 5.0, slew=1e-4)])
def test_a_switching_sensor_shows_its_levels_and_edges(sensor: Sensor) -> None:
    recording = record(missing_teeth(36), steady(600, 3), sensor, generator(), samples_a_tooth=40)
    assert np.min(recording.samples) == pytest.approx(sensor.low)
    assert np.max(recording.samples) == pytest.approx(sensor.high)
    high = recording.samples > (sensor.low + sensor.high) / 2
    seen = np.flatnonzero(high[1:] != high[:-1]) / recording.rate
    assert seen == pytest.approx(recording.passing.times[: seen.size], abs=1.5 / recording.rate)


def test_noise_is_as_far_below_the_signal_as_asked() -> None:
    clean = record(missing_teeth(60, 2), steady(600, 20), HALL, generator())
    noisy = record(missing_teeth(60, 2), steady(600, 20), HALL, generator(), noise_db=20)
    ratio = np.var(clean.samples) / np.var(noisy.samples - clean.samples)
    assert 10 * np.log10(ratio) == pytest.approx(20, abs=0.1)
