"""From time stamps to a clock: evenly sampled or not, with what is odd about the stamps said and never hidden."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.captures.capture import Clock, Guess
from proveout.captures.readers.counting import counted
from proveout.errors import InputError

__all__ = ["Timing", "snapped", "timing"]

Floats = NDArray[np.float64]

_EVEN = 1e-3  # share of a step by which stamps of even samples may be off
_SHOWN = 1e-2  # share of a step above which rounding of the stamps is worth a word
_RELATIVE = 1e-9  # of a rate that is computed from stamps without rounding
_HALF = 0.6  # of the rounding: what is rounded to the nearest step is off by half of it, and a fitted line by a little
_ROUNDED = 0.05  # share of a step above which rounding can hide that steps are uneven
_ENOUGH = 50  # stamps from which on even steps behind such rounding are no accident
_SOME = 8  # stamps from which on a rate may be rounded as far as their rounding allows
_NEAR = 10  # rows by which a row may be out of order, and not of a second recording
_BLOCK = 1 << 16


@dataclass(frozen=True)
class Timing:
    """A clock, the rows of the file that belong to it in its order (None: all as they stand), and remarks."""

    clock: Clock
    rows: NDArray[np.int64] | None = None
    guesses: tuple[Guess, ...] = ()
    notes: tuple[str, ...] = ()


def timing(times: Floats, *, rounding: float = 0.0, holds: bool = False) -> Timing:
    """Return the clock that stamps mean.

    Parameters
    ----------
    times : (row,) float64 [s]
        NaN where a row has none.
    rounding : float [s]
        Step to which the stamps are written; 0 when they are as fine as floating point.
    holds : bool
        Whether values hold until the next one; rows at one time then collapse to the last.

    Raises
    ------
    InputError
        No row has a time.
    """
    rows, notes = _usable(times)
    kept = times if rows is None else times[rows]
    if kept.size == 1:
        return Timing(Clock(times=kept.astype(np.float64), holds=holds), rows, (), tuple(notes))
    even = None if holds and _repeats(kept) else _even(kept, rounding)
    if even is not None:
        clock, guesses = even
        return Timing(replace(clock, holds=holds), rows, guesses, tuple(notes))
    if holds:
        kept, rows, told = _last_of_each(kept, rows)
    else:
        kept, told = _apart(kept)
    return Timing(Clock(times=kept, holds=holds), rows, (), (*notes, *told, *_pauses(kept)))


def snapped(value: float, tolerance: float) -> float:
    """Return the roundest number within a relative tolerance of a value."""
    for digits in range(1, 16):
        rounded = float(f"{value:.{digits}g}")
        if abs(rounded - value) <= tolerance * abs(value):
            return rounded
    return value


def _usable(times: Floats) -> tuple[NDArray[np.int64] | None, list[str]]:
    """Return the rows with a time, in order of time, and what had to be done for that."""
    notes: list[str] = []
    rows: NDArray[np.int64] | None = None
    span = times[-1] - times[0] if times.size else math.nan
    if not math.isfinite(span) or not np.isfinite(times.sum()):
        finite = np.isfinite(times)
        rows = np.flatnonzero(finite)
        if not rows.size:
            raise InputError("no row has a usable time; give the rate of the samples instead")
        if rows.size < times.size:
            notes.append(f"{counted(times.size - rows.size, 'row')} without a time stamp left out")
    kept = times if rows is None else times[rows]
    back = np.flatnonzero(kept[1:] < kept[:-1])
    if back.size:
        order, note = _forwards(kept, back)
        rows = order if rows is None else rows[order]
        notes.append(note)
    return rows, notes


def _forwards(times: Floats, back: NDArray[np.int64]) -> tuple[NDArray[np.int64], str]:
    """Put stamps that run backwards right: a few by order, a restart by keeping the longest stretch."""
    first = int(back[0])
    place = f"time runs backwards at row {first + 2} of the data, from {times[first]:g} s to {times[first + 1]:g} s"
    order = np.argsort(times, kind="stable")
    twice = int((np.diff(times[order]) == 0).sum()) > int((np.diff(times) == 0).sum())
    if not twice and int(np.abs(order - np.arange(order.size)).max()) <= _NEAR:
        return order, f"{place} ({counted(back.size, 'time')} in all): the rows are put in order of time"
    bounds = np.concatenate([[0], back + 1, [times.size]])
    longest = int(np.argmax(np.diff(bounds)))
    start, end = int(bounds[longest]), int(bounds[longest + 1])
    return np.arange(start, end), (
        f"{place} ({counted(back.size, 'time')} in all), as if recordings were joined: only the longest stretch "
        f"is read, rows {start + 1} to {end} of {times.size}; the others stay in the original file"
    )


def _even(times: Floats, rounding: float) -> tuple[Clock, tuple[Guess, ...]] | None:
    """Return an even clock when every stamp lies on it within its rounding, None otherwise."""
    count = times.size
    span = float(times[-1] - times[0])
    if span <= 0:
        return None
    step = span / (count - 1)
    fine = rounding + _exact(times)
    allowed = max(_HALF * fine, _EVEN * step)
    start = float(times[0])
    off = _off(times, start, step)
    if off > _EVEN * step + _exact(times):
        if off > 2 * allowed or (fine > _ROUNDED * step and count < _ENOUGH):
            return None
        start, step = _line(times)
        off = _off(times, start, step)
    if step <= 0 or off > allowed:
        return None
    rate = _rate(step, max((fine if count >= _SOME else _exact(times)) / span, _RELATIVE))
    if abs(start - float(times[0])) <= max(fine, _EVEN * step):
        start = float(times[0])
    guess = Guess(
        "sample rate",
        f"{rate:.9g} Hz, evenly sampled",
        f"the time stamps lie on even steps within {off:.2g} s, the rounding with which they are written",
        "rate",
    )
    return Clock(start=start, rate=rate), (guess,) if off > _SHOWN * step else ()


def _exact(times: Floats) -> float:
    """Return by how much stamps may be off for being floating point."""
    return float(4 * np.finfo(float).eps * max(abs(times[0]), abs(times[-1])))


def _line(times: Floats) -> tuple[float, float]:
    """Return start and step of the straight line through stamps by least squares, in one pass over blocks."""
    count, first = times.size, float(times[0])
    centre = (count - 1) / 2
    ramp = np.arange(min(count, _BLOCK), dtype=float)
    total = moment = 0.0
    for begin in range(0, count, _BLOCK):
        part = times[begin : begin + _BLOCK] - first
        part_total = float(part.sum())
        total += part_total
        moment += float((part * ramp[: part.size]).sum()) + (begin - centre) * part_total
    step = moment / (count * (count * count - 1.0) / 12)
    return first + total / count - centre * step, step


def _off(times: Floats, start: float, step: float) -> float:
    """Return the largest distance of a stamp from a line."""
    worst = 0.0
    ramp = np.arange(min(times.size, _BLOCK)) * step
    for begin in range(0, times.size, _BLOCK):
        apart = times[begin : begin + _BLOCK] - (start + begin * step)
        apart -= ramp[: apart.size]
        worst = max(worst, float(apart.max()), -float(apart.min()))
    return worst


def _rate(step: float, tolerance: float) -> float:
    """Return the rate of a step; rounded in whichever of the two is the rounder number."""
    by_rate, by_step = snapped(1 / step, tolerance), snapped(step, tolerance)
    return by_rate if _digits(by_rate) <= _digits(by_step) else 1 / by_step


def _digits(value: float) -> int:
    return len(f"{value:.14e}".split("e")[0].rstrip("0"))


def _repeats(times: Floats) -> bool:
    return bool(np.any(times[1:] == times[:-1]))


def _last_of_each(
    times: Floats, rows: NDArray[np.int64] | None
) -> tuple[Floats, NDArray[np.int64] | None, tuple[str, ...]]:
    """Keep the last of rows with one time: a held value changed more than once in no time."""
    last = np.append(times[1:] > times[:-1], True)
    if last.all():
        return times, rows, ()
    rows = np.flatnonzero(last) if rows is None else rows[last]
    return (
        times[last],
        rows,
        (f"{counted(int((~last).sum()), 'time stamp')} come twice: of such rows the last one counts",),
    )


def _apart(times: Floats) -> tuple[Floats, tuple[str, ...]]:
    """Set equal stamps of a sampled curve apart by the least that floating point can, so that no sample is lost."""
    same = np.flatnonzero(times[1:] <= times[:-1])
    if not same.size:
        return times, ()
    spread = times.copy()
    for row in same + 1:
        if spread[row] <= spread[row - 1]:
            spread[row] = np.nextafter(spread[row - 1], np.inf)
    return spread, (
        f"{counted(same.size, 'time stamp')} the same as the one before, first at row {int(same[0]) + 2} of the data "
        f"({times[same[0]]:g} s): all samples are kept, in the order of the file",
    )


def _pauses(times: Floats) -> tuple[str, ...]:
    """Say where nothing was recorded for long among otherwise regular stamps."""
    steps = np.diff(times)
    usual = float(np.median(steps)) if steps.size else 0.0
    long = np.flatnonzero(steps > 5 * usual)
    if usual <= 0 or not long.size or long.size > 0.01 * steps.size:
        return ()
    first = int(long[0])
    return (
        f"nothing is recorded for {float(steps[long].max()):.3g} s at most, {counted(long.size, 'time')}; first after "
        f"{times[first]:.6g} s",
    )
