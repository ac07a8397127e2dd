"""A text table as a recording: encoding, dialect, layout, rows and time, one after the other."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from proveout.captures.capture import Guess
from proveout.captures.readers.column_units import time_scale
from proveout.captures.readers.columns import Column, Table, channels_of, is_index_name, is_time_name
from proveout.captures.readers.counting import counted
from proveout.captures.readers.csv.cells import CLOCK, is_number
from proveout.captures.readers.csv.dialect import Dialect, find_dialect
from proveout.captures.readers.csv.layout import Layout, find_layout, lines_of
from proveout.captures.readers.csv.preamble import interval_in, start_in
from proveout.captures.readers.csv.precision import sampled_rows, written
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
    table, notes = _table(parsed, layout, roles)
    recording = channels_of(table, overrules)
    details = dict(layout.details) | roles.details
    return Recording(
        recording.channels,
        (*text.guesses, *dialect.guesses, *roles.guesses, *recording.guesses),
        (*text.notes, *layout.notes, *parsed.notes, *roles.notes, *notes, *recording.notes),
        details,
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
        self.index = self._index(cells)
        self.rounding = 0.0
        if self.time is not None:
            texts = cells[self.time]
            self.rounding = stamps_rounding(texts) if self.clocked else self.written[self.time].rounding
            if self.clocked and texts:
                self.details["first time stamp"] = texts[0]
        words = (layout.words | layout.aside | set(clocked)) - {self.time}
        self.left_out = sorted(k for k in words - layout.aside if k < layout.width and layout.names[k])
        if self.left_out:
            names = ", ".join(f"'{layout.names[k]}'" for k in self.left_out)
            self.notes.append(f"columns that hold no numbers are left out: {names}")
        self.kinds = [self._kind(k, words) for k in range(layout.width)]

    def _kind(self, k: int, words: frozenset[int]) -> Kind | None:
        if k == self.time:
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
            k for k, name in enumerate(names) if is_time_name(name) and (k in clocked or _numbers(cells[k], dialect))
        ]
        if clocked:
            return next((k for k in named if k in clocked), clocked[0])
        if named:
            return named[0]
        in_time = [k for k, unit in enumerate(self._layout.units) if unit and time_scale(unit)]
        if in_time:
            return in_time[0]
        if self._layout.step is None and self._layout.width > 1 and not is_index_name(names[0]) and not names[0]:
            return self._rising(cells, dialect)
        return None

    def _rising(self, cells: list[list[str]], dialect: Dialect) -> int | None:
        """Return the first column as the time when its numbers rise all along and are not whole counts."""
        values = [float(c.replace(dialect.decimal, ".")) for c in cells[0] if is_number(c, dialect.decimal)]
        live = self._first_live(cells)
        if live:
            values = [float(c.replace(dialect.decimal, ".")) for c in cells[live] if is_number(c, dialect.decimal)]
        if len(values) < 3 or any(b <= a for a, b in pairwise(values)):
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
            if k == self.time or not (is_index_name(name) or (self._layout.step is not None and k == 0)):
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


def _numbers(cells: list[str], dialect: Dialect) -> bool:
    return sum(is_number(cell, dialect.decimal) for cell in cells) * 2 > len(cells)


def _table(parsed: Rows, layout: Layout, roles: _Columns) -> tuple[Table, list[str]]:
    """Return columns and time, and what is odd about cells."""
    columns, notes = list[Column](), list[str]()
    for k, (cells, kind) in enumerate(zip(parsed.columns, roles.kinds, strict=True)):
        if kind is None or k == roles.time:
            continue
        name = layout.names[k] or f"channel {len(columns) + 1}"
        if cells.blank is not None and cells.blank.all():
            if layout.names[k]:
                notes.append(f"column '{name}' is empty and left out")
            continue
        if cells.words > _MOST_WORDS * cells.values.size:
            notes.append(f"column '{name}' holds words such as '{cells.first_word}' and is left out")
            continue
        notes += _told(name, cells)
        columns.append(
            Column(
                name,
                layout.units[k],
                cells.values,
                cells.blank,
                cells.over_low > 0,
                cells.over_high > 0,
                roles.written[k].rounding,
            )
        )
    table = Table(columns, interval=_interval(layout), start=layout.start or start_in(layout.details))
    if roles.time is None:
        return table, notes
    cells = parsed.columns[roles.time]
    if cells.text is not None:
        values = seconds_of_day(cells.text)
        return replace(table, time=Column("time", "s", values, rounding=roles.rounding), time_known=True), notes
    time = Column(layout.names[roles.time], layout.units[roles.time], cells.values, rounding=roles.rounding)
    return replace(table, time=time), notes


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
