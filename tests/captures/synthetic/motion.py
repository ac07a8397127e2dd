"""How a shaft turns: angle over time, from steady running to rolling back as it stops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Crossings", "Motion", "coast_down", "cranking", "from_speed", "rocking_stop", "steady", "sweep"]

Array = NDArray[np.float64]
PER_TURN = 2048


@dataclass(frozen=True)
class Crossings:
    """When angles of the turn passed the sensor: time [s], which angle, which turn, and whether forwards."""

    times: Array
    which: NDArray[np.int64]
    turn: NDArray[np.int64]
    forward: NDArray[np.bool_]


@dataclass(frozen=True)
class Motion:
    """Angle [turns] at increasing times [s]; straight between them."""

    times: Array
    angles: Array

    def angle(self, times: Array) -> Array:
        return np.interp(times, self.times, self.angles)

    def speed(self, times: Array) -> Array:
        """Return the speed [turns/s], negative while rolling back."""
        return np.interp(times, self.times, np.gradient(self.angles, self.times))

    @property
    def fastest(self) -> float:
        return float(np.max(np.abs(np.diff(self.angles) / np.diff(self.times))))

    def then(self, other: Motion) -> Motion:
        """Return this motion with the other one after it, from where it ends."""
        return Motion(
            np.concatenate([self.times, self.times[-1] + other.times[1:] - other.times[0]]),
            np.concatenate([self.angles, self.angles[-1] + other.angles[1:] - other.angles[0]]),
        )

    def crossings(self, angles: Sequence[float] | Array) -> Crossings:
        """Return when each of `angles` [turns within one turn] passes, forwards and backwards, in order of time."""
        steps = np.diff(self.angles) >= 0
        cuts = np.concatenate([[0], np.flatnonzero(np.diff(steps)) + 1, [steps.size]])
        pieces = [self._one_way(np.asarray(angles, float), a, b, bool(steps[a])) for a, b in pairwise(cuts)]
        times, which, turn, forward = (np.concatenate(column) for column in zip(*pieces, strict=True))
        order = np.argsort(times, kind="stable")
        return Crossings(times[order], which[order], turn[order], forward[order])

    def _one_way(self, angles: Array, first: int, last: int, forward: bool) -> tuple[NDArray[Any], ...]:
        time, angle = self.times[first : last + 1], self.angles[first : last + 1]
        low, high = min(angle[0], angle[-1]), max(angle[0], angle[-1])
        turns = np.arange(np.floor(low) - 2, np.ceil(high) + 1)
        targets = turns[:, None] + angles
        turn, which = np.nonzero((targets > low) & (targets <= high))
        wanted = targets[turn, which]
        when = np.interp(wanted, angle, time) if forward else np.interp(-wanted, -angle, time)
        return when, which, turns[turn].astype(np.int64), np.full(when.size, forward)


def from_speed(angles: Array, speed: Array) -> Motion:
    """Return the motion with that speed [turns/s, positive] at those increasing angles [turns]."""
    slow = 1 / speed
    times = np.concatenate([[0.0], np.cumsum(np.diff(angles) * (slow[1:] + slow[:-1]) / 2)])
    return Motion(times, angles)


def _angles(turns: float, start: float) -> Array:
    return start + np.linspace(0.0, turns, max(int(turns * PER_TURN), 2) + 1)


def steady(rpm: float, turns: float, start: float = 0.0) -> Motion:
    """Return turning at one speed; `start` is the angle [turns] at time 0."""
    return Motion(np.array([0.0, turns / (rpm / 60)]), np.array([start, start + turns]))


def sweep(first_rpm: float, last_rpm: float, turns: float, start: float = 0.0) -> Motion:
    """Return a speed that changes evenly over the angle."""
    angles = _angles(turns, start)
    return from_speed(angles, np.linspace(first_rpm, last_rpm, angles.size) / 60)


def cranking(
    rpm: float,
    turns: float,
    *,
    ripple: float,
    per_turn: float = 2.0,
    depths: Sequence[float] = (1.0,),
    run_up: float = 0.0,
    start: float = 0.0,
    phase: float = 0.0,
) -> Motion:
    """Return a starter turning an engine over its compressions.

    Speed swings by +-`ripple` of its mean as a cosine of the angle, `per_turn` compressions a turn, the slowest at
    `phase` [turns]. `depths` scale the dips one after the other (a weak cylinder dips less). With `run_up` [turns] the
    starter begins at a twentieth of the speed and gains on it, its square as 1 - exp(-angle / run_up).
    """
    angles = _angles(turns, start)
    cycle = (angles - phase) * per_turn
    depth = np.asarray(depths, float)[np.floor(cycle + 0.5).astype(int) % len(depths)]
    speed = 1 + ripple - ripple * depth * (1 + np.cos(2 * np.pi * cycle))
    if run_up > 0:
        speed = speed * np.sqrt(1 - (1 - 0.05**2) * np.exp(-(angles - start) / run_up))
    return from_speed(angles, rpm / 60 * speed)


def coast_down(rpm: float, turns: float, *, last: float = 0.1, ripple: float = 0.0, per_turn: float = 2.0) -> Motion:
    """Return a shaft that friction slows to `last` of its speed, where the ripple has grown to `ripple`."""
    angles = _angles(turns, 0.0)
    base = np.sqrt(1 - (1 - last**2) * angles / turns)
    swing = ripple * (last / base) ** 2
    return from_speed(angles, rpm / 60 * base * (1 - swing * np.cos(2 * np.pi * angles * per_turn)))


def rocking_stop(before: Motion, back: float = 0.06, decay: float = 2.0) -> Motion:
    """Return `before`, then a stop in which the shaft overshoots, rolls back by about `back` turns and comes to rest.

    A decaying swing that begins with the speed at which `before` ends.
    """
    speed = float(before.speed(before.times[-1:])[0])
    amplitude = back / 1.5  # with two swings to a decay, from the first peak to the trough after it
    swing = speed / amplitude  # [rad/s]
    times = np.linspace(0.0, 4 * np.pi / swing, 4096)
    decaying = np.exp(-times * swing / (2 * np.pi * decay))
    return before.then(Motion(times, amplitude * np.sin(swing * times) * decaying))
