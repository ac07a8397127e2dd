"""The edges that a turning wheel gives: which tooth, which turn, and what was lost or came on top."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from captures.synthetic.motion import Motion
from captures.synthetic.wheels import CutWheel, with_tooth_errors

__all__ = ["Passing", "pass_sensor"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Passing:
    """Edges in order of time, with their truth.

    `up` says where the sensor comes over a tooth (forwards: its `rise`); `place` is the tooth (-1: an extra edge),
    `turn` the turn of the shaft, `forward` its direction. `lost` (lost, 2): turn and tooth of the pulses taken out.
    `wheel` has its tooth errors, `nominal` has none.
    """

    times: Array
    up: NDArray[np.bool_]
    place: Whole
    turn: Whole
    forward: NDArray[np.bool_]
    lost: Whole
    wheel: CutWheel
    nominal: CutWheel
    motion: Motion

    def only(self, up: bool) -> Passing:
        """Return the edges of one kind alone."""
        return self._kept(self.up == up)

    def _kept(self, keep: NDArray[np.bool_]) -> Passing:
        columns = {name: getattr(self, name)[keep] for name in ("times", "up", "place", "turn", "forward")}
        return replace(self, **columns)


def pass_sensor(
    wheel: CutWheel,
    motion: Motion,
    rng: np.random.Generator,
    *,
    tooth_error: float = 0.0,
    jitter: float = 0.0,
    lost: int = 0,
    extra: int = 0,
) -> Passing:
    """Return the edges of a wheel in motion.

    `tooth_error` is the standard deviation of each tooth's place [pitches], `jitter` that of each edge's time [time of
    a pitch at that speed]; `lost` pulses are left out and `extra` short ones put in at random times.
    """
    cut = with_tooth_errors(wheel, tooth_error, rng)
    passing = _whole(cut, wheel, motion)
    passing = _jittered(passing, jitter, rng) if jitter > 0 else passing
    passing = _losing(passing, lost, rng) if lost else passing
    return _with_extra(passing, extra, rng) if extra else passing


def _whole(cut: CutWheel, nominal: CutWheel, motion: Motion) -> Passing:
    found = motion.crossings([*cut.rise, *cut.fall])
    begins = found.which < cut.teeth
    none = np.empty((0, 2), np.int64)
    place = found.which % cut.teeth
    return Passing(
        found.times, begins == found.forward, place, found.turn, found.forward, none, cut, nominal, motion
    )  # fmt: skip


def _jittered(passing: Passing, jitter: float, rng: np.random.Generator) -> Passing:
    pitch_time = passing.nominal.pitch / np.maximum(np.abs(passing.motion.speed(passing.times)), 1e-3)
    moved = passing.times + rng.normal(0.0, jitter, passing.times.size) * pitch_time
    return replace(passing, times=np.maximum.accumulate(moved) + 1e-12 * np.arange(moved.size))


def _losing(passing: Passing, count: int, rng: np.random.Generator) -> Passing:
    """Take out pulses that lie whole inside the recording."""
    pulse = passing.turn * passing.wheel.teeth + passing.place
    names, seen = np.unique(pulse, return_counts=True)
    inner = names[(seen == 2) & ~np.isin(names, pulse[[0, 1, -2, -1]])]
    gone = np.sort(rng.choice(inner, min(count, inner.size), replace=False))
    left = passing._kept(~np.isin(pulse, gone))
    return replace(left, lost=np.stack([gone // passing.wheel.teeth, gone % passing.wheel.teeth], axis=1))


def _with_extra(passing: Passing, count: int, rng: np.random.Generator) -> Passing:
    """Put in short pulses (short drops where the signal is up), each within one stretch between two edges."""
    stretch = np.sort(rng.choice(np.arange(1, passing.times.size - 2), count, replace=False))
    begin, length = passing.times[stretch], passing.times[stretch + 1] - passing.times[stretch]
    first = begin + length * rng.uniform(0.2, 0.6, count)
    times = np.stack([first, first + length * rng.uniform(0.1, 0.25, count)], axis=1).ravel()
    up = np.stack([~passing.up[stretch], passing.up[stretch]], axis=1).ravel()
    at = np.repeat(stretch + 1, 2)
    none = np.full(times.size, -1)
    return replace(
        passing,
        times=np.insert(passing.times, at, times),
        up=np.insert(passing.up, at, up),
        place=np.insert(passing.place, at, none),
        turn=np.insert(passing.turn, at, none),
        forward=np.insert(passing.forward, at, True),
    )
