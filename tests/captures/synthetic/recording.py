"""Samples of a sensor at a turning wheel, with the truth beside them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from captures.synthetic.motion import Motion
from captures.synthetic.passing import Passing, pass_sensor
from captures.synthetic.wheels import CutWheel

__all__ = ["HALL", "RELUCTANCE", "TWO_WIRE", "Recording", "Sensor", "record", "with_noise"]

Array = NDArray[np.float64]
TABLE = 1 << 15


@dataclass(frozen=True)
class Sensor:
    """How a sensor shows a tooth.

    `low` and `high` are the levels of a switching sensor, `slew` the time of its edges [s]. A variable-reluctance one
    (`reluctance`) gives `high` at its peaks at 600 rpm and in proportion to speed; `polarity` -1 has its leads swapped.
    `run_out` is the share by which its amplitude swings once a turn (of a switching sensor nothing).
    """

    kind: Literal["switching", "reluctance"]
    low: float
    high: float
    slew: float = 0.0
    polarity: int = 1
    run_out: float = 0.0


HALL = Sensor("switching", 0.0, 5.0)
TWO_WIRE = Sensor("switching", 0.007, 0.014)
RELUCTANCE = Sensor("reluctance", 0.0, 5.0)


@dataclass(frozen=True)
class Recording:
    """Evenly sampled values from time 0 with their truth.

    Of a switching sensor `passing` holds its edges. Of a variable-reluctance one they are where the flux changes
    fastest, that is the peaks; `marks` are the edges to time it by: the crossings of zero over the middle of each
    tooth, falling (rising where the polarity is -1).
    """

    samples: NDArray[np.float32]
    rate: float
    passing: Passing
    marks: Passing


def record(
    wheel: CutWheel,
    motion: Motion,
    sensor: Sensor,
    rng: np.random.Generator,
    *,
    samples_a_tooth: float = 20.0,
    rate: float | None = None,
    noise_db: float | None = None,
    tooth_error: float = 0.0,
    jitter: float = 0.0,
    lost: int = 0,
    extra: int = 0,
    dead: tuple[float, float] | None = None,
) -> Recording:
    """Return what a scope records.

    The rate [Hz] follows from `samples_a_tooth`, samples per pitch where the shaft is fastest, unless given. `noise_db`
    is the ratio of the signal's power about its mean to that of white noise. `dead` is a time from when to when [s] the
    signal is gone (low, or zero). Jitter moves the edges of a switching sensor only.
    """
    rate = rate or samples_a_tooth * motion.fastest / wheel.pitch
    passing = pass_sensor(wheel, motion, rng, tooth_error=tooth_error, jitter=jitter, lost=lost, extra=extra)
    times = np.arange(int((motion.times[-1] - motion.times[0]) * rate)) / rate + motion.times[0]
    values = (_reluctance if sensor.kind == "reluctance" else _switching)(passing, sensor, times)
    if dead:
        values[(times >= dead[0]) & (times < dead[1])] = sensor.low
    values = values if noise_db is None else with_noise(values, noise_db, rng)
    return Recording(values.astype(np.float32), rate, passing, _marks(passing, sensor))


def with_noise(values: Array, noise_db: float, rng: np.random.Generator) -> Array:
    """Return the values with white noise `noise_db` below their power about the mean."""
    return values + rng.normal(0.0, float(np.std(values)) * 10 ** (-noise_db / 20), values.size)


def _switching(passing: Passing, sensor: Sensor, times: Array) -> Array:
    if passing.times.size == 0:
        return np.full(times.size, sensor.low)
    if sensor.slew <= 0:
        after = np.searchsorted(passing.times, times, side="right")
        high = np.where(after > 0, passing.up[after - 1], ~passing.up[0])
        return np.where(high, sensor.high, sensor.low)
    room = np.diff(passing.times, prepend=-np.inf, append=np.inf)
    half = np.minimum(sensor.slew, 0.98 * np.minimum(room[:-1], room[1:])) / 2
    corners = np.stack([passing.times - half, passing.times + half], axis=1).ravel()
    levels = np.stack([~passing.up, passing.up], axis=1).ravel()
    return np.interp(times, corners, np.where(levels, sensor.high, sensor.low))


def _reluctance(passing: Passing, sensor: Sensor, times: Array) -> Array:
    angle, speed = passing.motion.angle(times), passing.motion.speed(times)
    slope = _flux_slope(passing.wheel)
    shape = np.interp(angle % 1.0, np.arange(TABLE + 1) / TABLE, np.append(slope, slope[0]))
    for turn, place in passing.lost:
        shape[np.abs(angle - turn - passing.wheel.centre[place]) < passing.wheel.pitch / 2] = 0.0
    level = sensor.polarity * sensor.high * (1 + sensor.run_out * np.cos(2 * np.pi * angle))
    spikes = _spikes(passing, times) * level * np.abs(speed) / 10
    return sensor.low + level * shape * speed / 10 + spikes


def _flux_slope(wheel: CutWheel) -> Array:
    """Return the slope of the flux over one turn, a bell up at each tooth's beginning and down at its end; peak 1."""
    widths = np.subtract(wheel.fall, wheel.rise)
    slots = np.diff([*wheel.rise, wheel.rise[0] + 1]) - widths
    spread = 0.3 * min(float(np.min(widths)), float(np.min(slots)))
    grid = np.arange(TABLE) / TABLE
    slope = np.zeros(TABLE)
    for sign, angles in ((1.0, wheel.rise), (-1.0, wheel.fall)):
        for angle in angles:
            away = (grid - angle + 0.5) % 1.0 - 0.5
            slope += sign * np.exp(-0.5 * (away / spread) ** 2)
    return slope / float(np.max(np.abs(slope)))


def _spikes(passing: Passing, times: Array) -> Array:
    """Return the extra pulses, each a bell up at its first edge and one down at its second."""
    values = np.zeros(times.size)
    pairs = passing.times[passing.place < 0].reshape(-1, 2)
    for first, second in pairs:
        near = slice(*np.searchsorted(times, [2 * first - second, 2 * second - first]))
        away = (times[near] - (first + second) / 2) / ((second - first) / 2)
        values[near] -= away * np.exp(0.5 - away**2 / 2)
    return values


def _marks(passing: Passing, sensor: Sensor) -> Passing:
    if sensor.kind == "switching":
        return passing
    wheel = passing.wheel
    found = passing.motion.crossings(wheel.centre)
    here = ~np.isin(found.turn * wheel.teeth + found.which, passing.lost @ np.array([wheel.teeth, 1]))
    return replace(
        passing,
        times=found.times[here],
        up=np.full(int(here.sum()), sensor.polarity < 0),
        place=found.which[here],
        turn=found.turn[here],
        forward=found.forward[here],
    )
