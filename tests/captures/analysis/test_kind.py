"""Kind of signal: made signals of every kind are named, or left open, and hardly ever taken for another."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from captures.synthetic import (
    HALL,
    RELUCTANCE,
    TWO_WIRE,
    Motion,
    added_tooth,
    cranking,
    even_teeth,
    missing_teeth,
    record,
    rocking_stop,
    steady,
    sweep,
)
from proveout.captures.analysis.kind import KindOfSignal, titles
from proveout.captures.capture import Channel, Clock
from proveout.captures.study import ChannelStudy

Floats = NDArray[np.float64]
SENSORS = {
    "variable reluctance": (RELUCTANCE, "V"),
    "on/off voltage": (HALL, "V"),
    "two-level current": (TWO_WIRE, "A"),
}


def judged(values: Floats | NDArray[np.float32], rate: float, unit: str) -> KindOfSignal:
    return ChannelStudy(Channel("channel 1", unit, values, Clock(rate=rate))).kind


def coded_pulses(motion: Motion, rng: np.random.Generator, rate: float = 2e5) -> Floats:
    """7 and 14 mA, pulses of 90 µs one way and 180 µs the other (user's guide of a wheel-speed sensor simulator)."""
    passed = motion.crossings(np.arange(48) / 48)
    current = np.full(int((motion.times[-1] - motion.times[0]) * rate), 0.007)
    for time, forward in zip(passed.times, passed.forward, strict=True):
        current[int(time * rate) : int((time + (90e-6 if forward else 180e-6)) * rate)] = 0.014
    return current + rng.normal(0, 0.0002, current.size)


@pytest.mark.parametrize("kind", SENSORS)
@pytest.mark.parametrize("wheel", [missing_teeth(60, 2), missing_teeth(36, 1), even_teeth(48), added_tooth(12)])
@pytest.mark.parametrize("motion", [cranking(200, 12, ripple=0.3), steady(800, 20), sweep(100, 900, 20)])
def test_a_sensor_at_a_wheel_is_named(kind: str, wheel: object, motion: Motion) -> None:
    sensor, unit = SENSORS[kind]
    made = record(wheel, motion, sensor, np.random.default_rng(11), samples_a_tooth=25, noise_db=20, tooth_error=0.02)  # type: ignore[arg-type]  # parametrised
    found = judged(made.samples, made.rate, unit)
    assert found.kind == kind, found
    assert found.evidence


@pytest.mark.parametrize("motion", [sweep(50, 600, 20), rocking_stop(sweep(600, 60, 10), 0.2)])
def test_pulses_of_their_own_length_are_told_from_teeth(motion: Motion) -> None:
    found = judged(coded_pulses(motion, np.random.default_rng(2)), 2e5, "A")
    assert found.kind == "direction-coded pulses", found


def test_a_current_seen_as_a_voltage_over_a_shunt_is_still_a_two_level_current() -> None:
    # 7 and 14 mA through 100 ohm: sense resistor of a workshop manual's specification table.
    made = record(even_teeth(48), sweep(50, 300, 10), TWO_WIRE, np.random.default_rng(3), noise_db=25)
    assert judged(100.0 * made.samples.astype(float), made.rate, "V").kind == "two-level current"


@pytest.mark.parametrize("cut", [None, 0.02, 0.3])
def test_noise_is_noise_whatever_its_colour(cut: float | None) -> None:
    values = np.random.default_rng(4).normal(size=100_000)
    if cut:
        values = signal.lfilter(*signal.butter(2, cut), values)
    assert judged(values, 1e5, "V").kind in ("noise only", None)


@pytest.mark.parametrize(
    "level",
    [
        lambda t: 2.2 + 1.4 * np.clip(np.sin(2 * np.pi * 0.7 * t), -0.5, 1.0),
        lambda t: 12.5 - 2.0 * (t > 0.4),
        lambda t: 0.9 + 0.2 * t,
    ],
)
def test_a_slow_voltage_is_an_analogue_level(level: Callable[[Floats], Floats]) -> None:
    times = np.arange(40_000) / 1e4
    noise = np.random.default_rng(5).normal(0, 0.01, times.size)
    assert judged(level(times) + noise, 1e4, "V").kind == "analogue level"


def test_a_constant_voltage_and_one_that_flickers_by_one_step_are_dead() -> None:
    assert judged(np.full(1000, 5.0), 1e4, "V").kind == "dead"
    flicker = 5.0 + 0.02 * (np.random.default_rng(6).random(10_000) < 0.5)
    assert judged(flicker, 1e4, "V").kind == "dead"


def test_too_few_samples_a_tooth_are_said_and_give_no_speed() -> None:
    made = record(missing_teeth(60, 2), steady(3000, 40), HALL, np.random.default_rng(7), samples_a_tooth=2.6)
    found = judged(made.samples, made.rate, "V")
    assert found.undersampled
    assert "samples a tooth" in found.reason


def test_hardly_any_signal_is_taken_for_a_wrong_kind() -> None:
    rng = np.random.default_rng(20_261_125)
    wrong, decided, total = 0, 0, 60
    for _ in range(total):
        kind = str(rng.choice(list(SENSORS)))
        sensor, unit = SENSORS[kind]
        wheel = [missing_teeth(60, 2), missing_teeth(36, 1), even_teeth(44), missing_teeth(12, 1)][rng.integers(4)]
        motion = cranking(float(rng.uniform(120, 250)), 8, ripple=float(rng.uniform(0.05, 0.4)))
        if rng.random() < 0.5:
            motion = sweep(float(rng.uniform(60, 3000)), float(rng.uniform(60, 3000)), 12)
        made = record(
            wheel, motion, sensor, rng,
            samples_a_tooth=float(rng.uniform(8, 80)), noise_db=float(rng.uniform(16, 40)), tooth_error=0.02,
        )  # fmt: skip
        found = judged(made.samples, made.rate, unit)
        decided += found.kind is not None
        wrong += found.kind not in (None, kind)
    assert wrong <= 1 and decided >= 0.95 * total, (wrong, decided)


def test_every_kind_has_a_title() -> None:
    assert set(SENSORS) < set(titles()) and "dead" in titles()
