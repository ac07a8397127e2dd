"""A wheel in our own words where the list has none: places on an even grid, or the angles as they are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.pattern.period import running_mean
from proveout.captures.analysis.wheel import Wheel

__all__ = ["grid_wheels", "uneven_wheel"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

_WIDEST = 8  # the widest gap looked for [half pitches]: four pitches

_MOST_ODD = 3  # steps that are not one pitch, beside one in six


def grid_wheels(logs: Array) -> list[Wheel]:
    """Return wheels whose edges stand on an even grid and whose steps lie nearest to a folded turn.

    Steps are whole pitches (missing teeth), or one and a half (a tooth added in the middle), most of them one. Each is
    compared with the smooth course of its neighbours, so that ripple does not pass for a gap.

    Parameters
    ----------
    logs : (place,) float64
        Mean log interval from each place to the next.
    """
    found: list[Wheel] = []
    if logs.size < 2:
        return found
    for choices in (np.arange(2, _WIDEST + 1, 2), np.array([1, 2])):
        halves = _nearest(logs, np.asarray(choices, float))
        if np.sum(halves != 2) <= max(_MOST_ODD, halves.size // 6) and not _repeats(halves):
            found += [_on_grid(near) for near in _with_near_gaps(halves)]
    return list({wheel.name: wheel for wheel in found}.values())


def _with_near_gaps(halves: Whole) -> list[Whole]:
    """Return the steps, and those with the one gap a pitch wider or narrower: ripple may hide that much."""
    widest = int(np.max(halves))
    if widest < 4 or np.sum(halves > 2) != 1:
        return [halves]
    return [np.where(halves == widest, width, halves) for width in (widest - 2, widest, widest + 2) if width > 2]


def _repeats(steps: Whole) -> bool:
    """Whether a shorter turn gives the same steps."""
    return any(steps.size % n == 0 and np.array_equal(steps, np.roll(steps, n)) for n in range(1, steps.size))


def uneven_wheel(logs: Array) -> tuple[Wheel, int]:
    """Return the wheel with the angles that the time of each step tells, and the place it begins at."""
    steps = np.exp(logs)
    first = _beginning(np.round(steps / np.min(steps), 1))
    turned = np.roll(steps / np.sum(steps), -first)
    degrees = ", ".join(f"{360 * step:.0f}" for step in turned)
    name = f"{logs.size} uneven ({degrees} degrees)" if logs.size <= 12 else f"{logs.size} uneven"
    return Wheel(name, tuple(float(a) for a in np.concatenate([[0.0], np.cumsum(turned)[:-1]]))), first


def _nearest(logs: Array, choices: Array) -> Whole:
    """Return the step of each place in half pitches, the nearest to the data about a smooth course of speed."""
    course = _middle_of_neighbours(logs, 7 if logs.size > 7 else logs.size)
    halves = np.full(logs.size, 2)
    for _ in range(4):
        away = (logs - course)[:, None] - np.log(choices / 2)[None, :]
        halves = choices[np.argmin(np.abs(away), axis=1)].astype(np.int64)
        flat = logs - np.log(halves / 2)
        width = min(5, logs.size)
        around = running_mean(np.concatenate([flat, flat, flat]), width)[logs.size : 2 * logs.size]
        course = around if logs.size > 5 else np.full(logs.size, np.mean(flat))
    return halves


def _middle_of_neighbours(logs: Array, width: int) -> Array:
    around = np.stack([np.roll(logs, shift) for shift in range(-(width // 2), width - width // 2)])
    return np.median(around, axis=0)


def _on_grid(halves: Whole) -> Wheel:
    turned = np.roll(halves, -_beginning(halves))
    if np.array_equal(np.flatnonzero(turned == 1), [0, 1]):  # an added tooth comes last
        turned = np.roll(turned, -2)
    whole = np.all(turned % 2 == 0)
    unit = turned // 2 if whole else turned
    slots = int(np.sum(unit))
    angles = tuple(float(a) / slots for a in np.concatenate([[0], np.cumsum(unit)[:-1]]))
    return Wheel(_name(unit, slots, bool(whole)), angles, slots)


def _name(unit: Whole, slots: int, whole: bool) -> str:
    if not whole and np.sum(unit == 1) == 2 and np.all(unit[-2:] == 1) and np.all(unit[:-2] == 2):
        return f"{unit.size - 1}+1"
    runs, length = [], 0
    for step in unit:
        length += 1
        if step > 1:
            runs.append((length, int(step) - 1))
            length = 0
    if length:
        runs.append((length, 0))
    if len(runs) == 1:
        return f"{slots}-{runs[0][1]}"
    return f"{slots} places: " + ", ".join(f"{teeth} on {gap} off" if gap else f"{teeth} on" for teeth, gap in runs)


def _beginning(steps: Array | Whole) -> int:
    """Return the place after the widest step; of several, the one whose steps backwards from there are widest."""
    after_widest = (np.flatnonzero(steps == np.max(steps)) + 1) % steps.size
    return int(max(after_widest, key=lambda first: tuple(np.roll(steps, -first)[::-1])))
