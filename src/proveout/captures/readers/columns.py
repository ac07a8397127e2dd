"""Columns of a table as channels: which one is the time, which values hold, and what an empty cell means."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.captures.capture import Channel, Clock, Guess, Samples
from proveout.captures.readers.clocks import Timing, snapped, timing
from proveout.captures.readers.column_units import time_scale
from proveout.captures.readers.overrules import TIME_UNITS, Overrules
from proveout.captures.readers.recording import Recording
from proveout.errors import InputError

__all__ = ["Column", "Table", "channels_of", "is_index_name", "is_time_name", "unique"]

_TIME_NAME = re.compile(
    r"^(time|zeit|temps|tiempo|tempo|t|x|x[- ]?axis|seconds?|secs?|elapsed|date ?/? ?time|datetime|uhrzeit|"
    r"time ?stamps?|zeitstempel|timestamps?)(\b.*)?$",
    re.IGNORECASE,
)
_INDEX_NAME = re.compile(
    r"^(sample|samples|index|sequence|seq|no\.?|nr\.?|#|n|point|points|row|number)$", re.IGNORECASE
)
_LEVELS = 2
_EXACT = 1e-12
_LOOKED_AT = 20_000
_NEARLY_ALL = 0.98


@dataclass(frozen=True)
class Column:
    """One column of numbers.

    Attributes
    ----------
    name, unit : str
        As the file writes them.
    values : (row,) float
        NaN where a cell holds no number.
    blank : (row,) bool or None
        Where a cell is empty; None when none is.
    over_low, over_high : bool
        Whether over-range marks stand for values below, above all that could be recorded.
    rounding : float
        Step to which the numbers are written, 0 when not known.
    """

    name: str
    unit: str
    values: Samples
    blank: NDArray[np.bool_] | None = None
    over_low: bool = False
    over_high: bool = False
    rounding: float = 0.0


@dataclass(frozen=True)
class Table:
    """Columns of equal length with what is known of their time.

    Attributes
    ----------
    time : Column or None
        Already in seconds when `time_known`; else its unit is still to be found out.
    interval : (float, str) or None
        Step between rows [s] and where the file says so.
    start : float
        Time of the first row when there is an interval [s].
    """

    columns: Sequence[Column]
    time: Column | None = None
    time_known: bool = False
    interval: tuple[float, str] | None = None
    start: float = 0.0


def is_time_name(name: str) -> bool:
    """Tell whether a heading names a time."""
    return bool(_TIME_NAME.match(name.strip()))


def is_index_name(name: str) -> bool:
    """Tell whether a heading counts samples."""
    return bool(_INDEX_NAME.match(name.strip()))


def unique(names: Sequence[str]) -> list[str]:
    """Return names without repetition, and `channel k` where there is none."""
    seen: dict[str, int] = {}
    result = []
    for k, given in enumerate(names, start=1):
        name = given.strip() or f"channel {k}"
        seen[name] = seen.get(name, 0) + 1
        candidate = name
        while seen[name] > 1 and (candidate := f"{name} ({seen[name]})") in seen:
            seen[name] += 1
        seen.setdefault(candidate, 1)
        result.append(candidate)
    return result


def channels_of(table: Table, overrules: Overrules) -> Recording:
    """Return the channels of a table with their clocks.

    Raises
    ------
    InputError
        No column, no row, or no row with a time.
    """
    if not table.columns or not table.columns[0].values.size:
        raise InputError("the file has headings at most and no row of numbers: nothing was recorded")
    names = unique([column.name for column in table.columns])
    columns = [replace(column, name=name) for column, name in zip(table.columns, names, strict=True)]
    times, rounding, guesses = _times(table, overrules)
    holds, held = _holds(columns, times, overrules)
    common, timed_notes = _common_timing(table, times, rounding, holds, overrules)
    guesses += [*held, *common.guesses]
    notes = [*common.notes, *timed_notes]
    channels = []
    absence = _absence(columns, common, overrules)
    for column in columns:
        channel, told, said = _channel(column, common, times, rounding, holds, absence.get(column.name, ""))
        channels.append(channel)
        guesses += told
        notes += said
    return Recording(channels, tuple(guesses), tuple(notes))


def _times(table: Table, overrules: Overrules) -> tuple[NDArray[np.float64] | None, float, list[Guess]]:
    """Return the stamps in seconds and their rounding."""
    column = table.time
    if column is None or overrules.rate is not None:
        return None, 0.0, []
    values = np.asarray(column.values, dtype=np.float64)
    if table.time_known:
        return values, column.rounding, []
    said = TIME_UNITS.get(overrules.time_unit or "")
    written = time_scale(column.unit)
    scale = said or written
    guesses = []
    if scale is None:
        scale, why = _probable_scale(values)
        symbol = next(name for name, factor in TIME_UNITS.items() if factor == scale)
        guesses.append(Guess("unit of time", symbol, why, "time-unit"))
    return (values if scale == 1.0 else values * scale), column.rounding * scale, guesses


def _probable_scale(values: NDArray[np.float64]) -> tuple[float, str]:
    """Return the seconds in the unit of stamps without one: seconds, unless they count an epoch in a finer unit."""
    first = float(values[0])
    for name, least in (("ns", 1e17), ("us", 1e14), ("ms", 1e11)):
        if first > least:
            return TIME_UNITS[name], f"the stamps begin at {first:.0f}, which is a date of our time only in {name}"
    return 1.0, "the file gives no unit of time"


def _common_timing(
    table: Table, times: NDArray[np.float64] | None, rounding: float, holds: bool, overrules: Overrules
) -> tuple[Timing, tuple[str, ...]]:
    """Return the timing of full rows."""
    if times is not None:
        return timing(times, rounding=rounding, holds=holds), ()
    if overrules.rate is not None:
        return Timing(Clock(start=table.start, rate=overrules.rate, holds=holds)), ()
    if table.interval is not None:
        step, where = table.interval
        rate = snapped(1 / step, _EXACT)
        guess = Guess("sample rate", f"{rate:.9g} Hz", where, "rate")
        return Timing(Clock(start=table.start, rate=rate, holds=holds), guesses=(guess,)), ()
    guess = Guess("sample rate", "1 Hz", "the file gives neither times nor a sample interval", "rate")
    note = "there is no time base: times are sample numbers, not seconds, until a rate is given"
    return Timing(Clock(rate=1.0, holds=holds), guesses=(guess,)), (note,)


def _holds(
    columns: Sequence[Column], times: NDArray[np.float64] | None, overrules: Overrules
) -> tuple[bool, list[Guess]]:
    """Tell whether values hold until the next one: a list of changes, or a log that repeats what did not come anew."""
    if overrules.holds is not None or times is None or times.size < 4:
        return bool(overrules.holds), []
    values = np.stack([np.asarray(column.values[:_LOOKED_AT], dtype=float) for column in columns], axis=1)
    change = (values[1:] != values[:-1]) & ~(np.isnan(values[1:]) | np.isnan(values[:-1]))
    per_row = change.sum(axis=1)
    known = [column[~np.isnan(column)] for column in values.T]
    switching = all(np.unique(column).size <= _LEVELS for column in known if column.size)
    if switching and float((per_row > 0).mean()) >= _NEARLY_ALL:
        why = "each row changes a channel that knows two values only: a list of changes"
        return True, [Guess("values", "hold until the next one", why, "holds")]
    if len(columns) >= 3 and float((per_row <= 1).mean()) >= _NEARLY_ALL and per_row.any() and not switching:
        why = "no row changes more than one channel: the others repeat their last value"
        return True, [Guess("values", "hold until the next one", why, "holds")]
    return False, []


def _channel(
    column: Column,
    common: Timing,
    times: NDArray[np.float64] | None,
    rounding: float,
    holds: bool,
    why: str,
) -> tuple[Channel, list[Guess], list[str]]:
    """Return a channel on the common clock, or on its own where its cells are empty because nothing was due."""
    if why and column.blank is not None and times is not None:
        own = np.flatnonzero(~column.blank & np.isfinite(times))
        if own.size:
            mine = timing(times[own], rounding=rounding, holds=holds)
            rows = own if mine.rows is None else own[mine.rows]
            guess = Guess("empty cells", "no sample was due", why, "blanks", column.name)
            notes = [] if len(mine.notes) == len(common.notes) else [f"{column.name}: {note}" for note in mine.notes]
            return _made(column, rows, mine.clock), [guess], notes
    return _made(column, common.rows, common.clock), [], []


def _absence(columns: Sequence[Column], common: Timing, overrules: Overrules) -> dict[str, str]:
    """Return why no sample was due where cells are empty, for each column of which that can be said."""
    if overrules.blanks is not None:
        said = "it was said so" if overrules.blanks == "absent" else ""
        return {column.name: said for column in columns if column.blank is not None and said}
    blanks = {column.name: column.blank for column in columns if column.blank is not None}
    if len(blanks) > 1 and len(blanks) == len(columns):
        filled = len(columns) - np.sum(list(blanks.values()), axis=0, dtype=np.int64)
        if float((filled == 1).mean()) >= _NEARLY_ALL:
            return dict.fromkeys(blanks, "each row has one value, as in a log that writes what has just arrived")
    reasons = {}
    for name, blank in blanks.items():
        first = int(np.argmin(blank))
        if 2 * int(blank[first:].sum()) >= blank.size - first:
            reasons[name] = "most cells are empty"
        elif not blank[first:].any() and not common.clock.even:
            reasons[name] = "they are empty only before the first value"
    return reasons


def _made(column: Column, rows: NDArray[np.int64] | None, clock: Clock) -> Channel:
    samples = column.values if rows is None else column.values[rows]
    low = high = None
    if column.over_low or column.over_high:
        finite = samples[np.isfinite(samples)]
        if finite.size:
            low = float(finite.min()) if column.over_low else None
            high = float(finite.max()) if column.over_high else None
    return Channel(column.name, column.unit, samples, clock, low, high)
