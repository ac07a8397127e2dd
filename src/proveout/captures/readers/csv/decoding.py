"""A text table as a recording: encoding, dialect, layout, rows and time, one after the other."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from proveout.captures.capture import Guess
from proveout.captures.readers.column_units import time_scale
from proveout.captures.readers.columns import Column, Table, channels_of, is_index_name, is_time_name, unique
from proveout.captures.readers.counting import counted
from proveout.captures.readers.csv.cells import CLOCK, MINUS, is_number
from proveout.captures.readers.csv.dialect import Dialect, find_dialect
from proveout.captures.readers.csv.layout import Layout, find_layout, lines_of
from proveout.captures.readers.csv.preamble import interval_in, start_in
from proveout.captures.readers.csv.precision import Written, sampled_rows, written
from proveout.captures.readers.csv.stamps import seconds_of_day, stamps_rounding
from proveout.captures.readers.csv.table import Cells, Kind, Rows, parse
from proveout.captures.readers.csv.text import read_text
from proveout.captures.readers.extent import extent
from proveout.captures.readers.overrules import Overrules
from proveout.captures.readers.recording import Recording
from proveout.captures.readers.source import Source
from proveout.errors import InputError

__all__ = ["decode"]

_HEADS = (24_576, 1 << 17, 1 << 21)  # byte: as much as shows the table, which most often is little
_MOST_COLUMNS = 10_000
_MOST_WORDS = 0.5
_SHORT_NAME = 2  # letters: a column called x or t is a time only if its numbers rise


def decode(source: Source, overrules: Overrules) -> Recording:
    """Read a text table.

    Raises
    ------
    InputError
        It is no table of numbers, or cannot be read without doubt about the numbers themselves.
    """
    text = read_text(source.data, overrules.encoding)
    dialect, layout = _shape(text.data, text.encoding, overrules)
    data = text.data[layout.offset :]
    rows = sampled_rows(data, dialect, text.encoding)
    columns = [[row[k].strip() for row in rows if k < len(row)] for k in range(layout.width)]
    roles = _Columns(layout, columns, dialect, overrules)
    parsed = parse(data, dialect, roles.kinds, text.encoding)
    if any(roles.too_coarse(k, cells) for k, cells in enumerate(parsed.columns)):
        parsed = parse(data, dialect, roles.in_double(), text.encoding)
    columns_by_time, notes = _columns_by_time(parsed, layout, roles)
    recordings = [
        channels_of(_table(own, time, parsed, layout, roles), overrules) for time, own in columns_by_time.items()
    ]
    channels = [channel for recording in recordings for channel in recording.channels]
    names = unique([channel.name for channel in channels])
    return Recording(
        [replace(channel, name=name) for channel, name in zip(channels, names, strict=True)],
        (*text.guesses, *dialect.guesses, *roles.guesses, *dict.fromkeys(g for r in recordings for g in r.guesses)),
        (*text.notes, *layout.notes, *parsed.notes, *roles.notes, *notes, *(n for r in recordings for n in r.notes)),
        dict(layout.details) | roles.details,
    )


def _shape(data: memoryview, encoding: str, overrules: Overrules) -> tuple[Dialect, Layout]:
    """Find dialect and layout in the head of a text, in a longer head when the first has no table."""
    for size in _HEADS:
        lines = lines_of(data, size, encoding)
        try:
            dialect = find_dialect([line.text for line in lines], overrules)
            layout = find_layout(lines, dialect)
            break
        except InputError:
            if data.nbytes <= size or size == _HEADS[-1]:
                raise
    if layout.width > _MOST_COLUMNS:
        raise InputError(
            f"the table has {layout.width} columns; at most {_MOST_COLUMNS} can be read: is it a recording?"
        )
    return dialect, layout


class _Columns:
    """Which column is the time, which ones are read and how finely."""

    def __init__(self, layout: Layout, cells: list[list[str]], dialect: Dialect, overrules: Overrules) -> None:
        self._layout = layout
        self.written = [written(column) for column in cells]
        self.guesses: list[Guess] = []
        self.notes: list[str] = []
        self.details: dict[str, str] = {}
        clocked = [k for k, column in enumerate(cells) if _mostly_clock(column, dialect)]
        self.time = self._time(cells, clocked, dialect, overrules)
        self.clocked = self.time in clocked
        self.times = [] if self.time is None else [self.time, *self._other_times(cells, dialect, overrules)]
        self.index = self._index(cells)
        self.rounding = {k: self.written[k].rounding for k in self.times}
        if self.time is not None and self.clocked and cells[self.time]:
            self.rounding[self.time] = stamps_rounding(cells[self.time])
            self.details["first time stamp"] = cells[self.time][0]
        if len(self.times) > 1:
            why = f"{len(self.times)} columns are times; each goes with the columns right of it"
            self.guesses.append(Guess("time", "one for each channel", why, "time-column"))
        words = (layout.words | layout.aside | set(clocked)) - {self.time}
        self.left_out = sorted(k for k in words - layout.aside if k < layout.width and layout.names[k])
        if self.left_out:
            names = ", ".join(f"'{layout.names[k]}'" for k in self.left_out)
            self.notes.append(f"columns that hold no numbers are left out: {names}")
        self.kinds = [self._kind(k, words) for k in range(layout.width)]

    def _kind(self, k: int, words: frozenset[int]) -> Kind | None:
        if k in self.times:
            return Kind("text" if self.clocked else "double")
        if k in words or k == self.index:
            return None
        return Kind("single" if self.written[k].single else "double")

    def in_double(self) -> list[Kind | None]:
        """Return the kinds with double precision everywhere."""
        return [Kind("double") if kind is not None and kind.name == "single" else kind for kind in self.kinds]

    def too_coarse(self, k: int, cells: Cells) -> bool:
        """Tell whether numbers are too large for single precision at the step to which they are written."""
        kind = self.kinds[k]
        if kind is None or kind.name != "single" or not cells.values.size or not self.written[k].rounding:
            return False
        low, high = extent(cells.values)
        return bool(max(high, -low) * 2.0**-24 > 0.5 * self.written[k].rounding) and self.written[k].digits < 8

    def _time(self, cells: list[list[str]], clocked: list[int], dialect: Dialect, overrules: Overrules) -> int | None:
        names, wanted = self._layout.names, overrules.time_column
        if wanted == "none":
            return None
        if wanted is not None:
            if wanted not in names:
                raise InputError(f"there is no column '{wanted}' to take the time from; there are {', '.join(names)}")
            return names.index(wanted)
        if self._layout.step is not None and not clocked:
            return None
        named = [
            k
            for k, name in enumerate(names)
            if is_time_name(name)
            and (k in clocked or _numbers(cells[k], dialect))
            and (len(name) > _SHORT_NAME or _rise(cells[k], dialect))
        ]
        if clocked:
            return next((k for k in named if k in clocked), clocked[0])
        if named:
            return named[0]
        units = enumerate(self._layout.units)
        in_time = [k for k, unit in units if unit and time_scale(unit) and _rise(cells[k], dialect)]
        if in_time:
            return in_time[0]
        if self._layout.step is None and self._layout.width > 1 and not is_index_name(names[0]) and not names[0]:
            return self._rising(cells, dialect)
        return None

    def _other_times(self, cells: list[list[str]], dialect: Dialect, overrules: Overrules) -> list[int]:
        """Return further time columns, as where each channel stands beside times of its own."""
        if self.clocked or self.time != 0 or overrules.time_column is not None:
            return []
        names = self._layout.names
        others = [k for k in range(2, len(names) - 1) if is_time_name(names[k]) and _rise(cells[k], dialect)]
        return others if all(b - a > 1 for a, b in pairwise([0, *others, len(names)])) else []

    def _rising(self, cells: list[list[str]], dialect: Dialect) -> int | None:
        """Return the first column as the time when its numbers rise all along and are not whole counts."""
        live = self._first_live(cells)
        if not _rise(cells[live], dialect):
            return None
        why = f"column {live + 1} has no name and rises all along"
        self.guesses.append(Guess("time", f"column {live + 1}", why, "time-column"))
        return live

    @staticmethod
    def _first_live(cells: list[list[str]]) -> int:
        return next((k for k, column in enumerate(cells) if any(column[len(column) // 2 :])), 0)

    def _index(self, cells: list[list[str]]) -> int | None:
        """Return the column that merely counts the samples."""
        for k, name in enumerate(self._layout.names):
            counts = is_index_name(name) or (k == 0 and (self._layout.step is not None or (not name and self.times)))
            if k in self.times or not counts:
                continue
            steps = {
                int(b) - int(a)
                for a, b in zip(cells[k][:20], cells[k][1:20], strict=False)
                if a.isdecimal() and b.isdecimal()
            }
            if steps == {1}:
                return k
        return None


def _mostly_clock(cells: list[str], dialect: Dialect) -> bool:
    filled = [cell for cell in cells if cell]
    clocks = sum(bool(CLOCK.fullmatch(cell)) for cell in filled)
    return bool(filled) and 2 * clocks > len(filled)


def _rise(cells: list[str], dialect: Dialect) -> bool:
    """Tell whether the numbers of a column rise all along."""
    texts = [cell for cell in cells if is_number(cell, dialect.decimal)]
    values = [float(text.replace(dialect.decimal, ".").replace(MINUS, "-")) for text in texts]
    return len(values) >= 3 and all(b >= a for a, b in pairwise(values)) and values[-1] > values[0]


def _numbers(cells: list[str], dialect: Dialect) -> bool:
    return sum(is_number(cell, dialect.decimal) for cell in cells) * 2 > len(cells)


def _columns_by_time(parsed: Rows, layout: Layout, roles: _Columns) -> tuple[dict[int | None, list[Column]], list[str]]:
    """Return the columns that are channels under the time column that they go with, and what is odd about cells."""
    times: list[int | None] = [*roles.times] or [None]
    found: dict[int | None, list[Column]] = {time: [] for time in times}
    notes = list[str]()
    for k, (cells, kind) in enumerate(zip(parsed.columns, roles.kinds, strict=True)):
        if kind is None or k in roles.times:
            continue
        name = layout.names[k] or f"channel {sum(map(len, found.values())) + 1}"
        if cells.blank is not None and cells.blank.all():
            if layout.names[k]:
                notes.append(f"column '{name}' is empty and left out")
            continue
        if cells.words > _MOST_WORDS * cells.values.size:
            notes.append(f"column '{name}' holds words such as '{cells.first_word}' and is left out")
            continue
        notes += _told(name, cells)
        before = [time for time in roles.times if time < k]
        found[before[-1] if before else roles.time].append(_column(name, layout.units[k], cells, roles.written[k]))
    if not any(found.values()):
        only = "but a time" if roles.times else "of numbers"
        told = "; ".join(("", *roles.notes, *notes))
        raise InputError(f"the table has no column {only}{told}; give a recording with its samples as plain numbers")
    return {time: columns for time, columns in found.items() if columns}, notes


def _column(name: str, unit: str, cells: Cells, written: Written) -> Column:
    above, below = cells.over_high > 0, cells.over_low > 0
    return Column(name, unit, cells.values, cells.blank, below, above, written.rounding)


def _table(columns: list[Column], time: int | None, parsed: Rows, layout: Layout, roles: _Columns) -> Table:
    """Return columns with their time."""
    table = Table(columns, interval=_interval(layout), start=layout.start or start_in(layout.details))
    if time is None:
        return table
    cells, rounding = parsed.columns[time], roles.rounding[time]
    if cells.text is not None:
        values = seconds_of_day(cells.text)
        return replace(table, time=Column("time", "s", values, rounding=rounding), time_known=True)
    return replace(table, time=Column(layout.names[time], layout.units[time], cells.values, rounding=rounding))


def _interval(layout: Layout) -> tuple[float, str] | None:
    if layout.step is not None:
        return layout.step, f"a heading gives an increment of {layout.step:g}, taken in s"
    return interval_in(layout.details)


def _told(name: str, cells: Cells) -> list[str]:
    notes = []
    marks = ((cells.over_high, "above"), (cells.over_low, "below"), (cells.over, "beyond"))
    for count, where in marks:
        if count:
            notes.append(f"channel '{name}': {counted(count, 'sample')} marked as {where} the range: missing")
    if cells.words:
        notes.append(f"channel '{name}': {counted(cells.words, 'cell')} without a number, first '{cells.first_word}'")
    return notes
