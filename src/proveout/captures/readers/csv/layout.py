"""Where the table begins in a text, what its headings say, and what stands above it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from proveout.captures.readers.column_units import column_unit, split_name
from proveout.captures.readers.columns import is_index_name, is_time_name
from proveout.captures.readers.csv.cells import is_data, is_number
from proveout.captures.readers.csv.dialect import Dialect
from proveout.captures.readers.csv.preamble import details_of
from proveout.captures.readers.csv.text import mended
from proveout.errors import InputError

__all__ = ["Layout", "Line", "find_layout", "lines_of"]

_NEWLINE = re.compile(rb"\r\n|\n|\r")
_AHEAD = 10
_JUDGED = 40
_STEP_NAME = re.compile(r"increment|interval|delta", re.IGNORECASE)
_START_NAME = re.compile(r"^start|^origin|^offset", re.IGNORECASE)


@dataclass(frozen=True)
class Line:
    """A line of text and the byte at which it begins."""

    offset: int
    text: str


@dataclass(frozen=True)
class Layout:
    """The table of a text.

    Attributes
    ----------
    offset : int
        Byte at which the first row of numbers begins.
    names, units : list of str
        For each column; empty where the text has none.
    words, aside : frozenset of int
        Columns that hold words; columns beside the table that hold words about the recording or numbers of headings.
    details : mapping
        What stands above and beside the table.
    step, start : float or None
        Sample interval and first time that stand in the headings [s].
    headed : bool
        Whether there are headings.
    """

    offset: int
    names: list[str]
    units: list[str]
    words: frozenset[int] = frozenset()
    aside: frozenset[int] = frozenset()
    details: Mapping[str, str] = field(default_factory=dict)
    step: float | None = None
    start: float = 0.0
    headed: bool = False
    notes: tuple[str, ...] = ()

    @property
    def width(self) -> int:
        """Count of columns."""
        return len(self.names)


def lines_of(data: memoryview, size: int, encoding: str) -> list[Line]:
    """Return the whole lines among the first bytes; the last one too when the text ends with it."""
    head = bytes(data[:size])
    lines, place = [], 0
    for end in _NEWLINE.finditer(head):
        lines.append(Line(place, head[place : end.start()].decode(encoding, "replace")))
        place = end.end()
    if place < len(head) and (data.nbytes <= size or not lines):
        lines.append(Line(place, head[place:].decode(encoding, "replace")))
    return lines


def find_layout(lines: Sequence[Line], dialect: Dialect) -> Layout:
    """Find the table.

    Raises
    ------
    InputError
        No line begins it.
    """
    rows = [(line.offset, dialect.split(line.text)) for line in lines]
    rows = [(offset, cells) for offset, cells in rows if any(cell.strip() for cell in cells)]
    judge = _Judge(rows, dialect)
    first = judge.first()
    side: list[list[str]] = []
    first, side = _beside(rows, first, judge)
    headings = [cells for _, cells in rows[:first]]
    names, units, above = _headings(headings, judge.width, dialect)
    details = details_of([*above, *side])
    step, start, dropped = _in_headings(names, units, dialect)
    found_names, found_units, notes = _named(names, units, judge.width)
    return Layout(
        rows[first][0],
        found_names,
        found_units,
        judge.words,
        dropped | frozenset(range(len(side[0]) if side else 0)),
        {mended(key): mended(value) for key, value in details.items()},
        step,
        start,
        bool(names),
        notes,
    )


class _Judge:
    """What a row of this table looks like."""

    def __init__(self, rows: Sequence[tuple[int, list[str]]], dialect: Dialect) -> None:
        self._rows = rows
        self._decimal = dialect.decimal
        last = [cells for _, cells in rows[-_JUDGED:]]
        # Rows of a table are those that are regular; lines above it may be wider or narrower.
        self.width = Counter(len(cells) for cells in last).most_common(1)[0][0]
        tall = [cells for cells in last if len(cells) == self.width]
        if len(tall) > 1 and all(not cells[-1].strip() for cells in tall) and self.width > 1:
            named = [len(_filled(cells)) for _, cells in rows[:-_JUDGED] or rows[:1]]
            self.width -= self.width not in named
        self.words = frozenset(
            k
            for k in range(self.width)
            if 2 * sum(k < len(c) and not is_data(c[k], self._decimal) for c in tall) > len(tall)
        )

    def is_row(self, cells: Sequence[str]) -> bool:
        judged = [cell for k, cell in enumerate(cells) if k not in self.words and cell.strip()]
        return (
            bool(judged)
            and len(_filled(cells)) <= self.width
            and len(cells) >= min(2, self.width)
            and all(is_data(cell, self._decimal) for cell in judged)
            and any(is_number(cell, self._decimal) for cell in judged)
        )

    def first(self) -> int:
        good: list[bool] = []
        for k in range(len(self._rows)):
            good += [self.is_row(cells) for _, cells in self._rows[len(good) : k + _AHEAD]]
            ahead = good[k:]
            if good[k] and sum(ahead) >= 0.8 * len(ahead):
                return k
        raise InputError("the text has no row that begins a table of numbers; give a CSV file, or its delimiter")

    def holds_numbers(self, cells: Sequence[str], places: Sequence[int]) -> bool:
        return all(k < len(cells) and is_number(cells[k], self._decimal) for k in places)


def _filled(cells: Sequence[str]) -> Sequence[str]:
    """Return the cells up to the last that is not blank."""
    end = len(cells)
    while end > 1 and not cells[end - 1].strip():
        end -= 1
    return cells[:end]


def _beside(rows: Sequence[tuple[int, list[str]]], first: int, judge: _Judge) -> tuple[int, list[list[str]]]:
    """Take in rows above whose first cells hold words about the recording and whose last ones already numbers."""
    ahead = [cells for _, cells in rows[first : first + _AHEAD]]
    live = [k for k in range(judge.width) if any(k < len(c) and c[k].strip() for c in ahead)]
    side: list[list[str]] = []
    if not live or live[0] == 0:
        return first, side
    while first and judge.holds_numbers(rows[first - 1][1], live):
        first -= 1
        side.insert(0, rows[first][1][: live[0]])
    return first, side


def _headings(
    rows: Sequence[list[str]], width: int, dialect: Dialect
) -> tuple[list[str], list[str], Sequence[list[str]]]:
    """Return names, units and what stands above them, from the rows above the table."""

    def heads(cells: Sequence[str]) -> bool:
        filled = [cell for cell in _filled(cells) if cell.strip()]
        words = [cell for cell in filled if not is_number(cell, dialect.decimal)]
        wide = len(_filled(cells)) >= max(1, min(2, width), width - 2) and len(_filled(cells)) <= width + 1
        wide = wide or any(_STEP_NAME.search(cell) for cell in filled) or bool(_numbered(rows[-2:], dialect))
        return bool(words) and wide and 2 * len(words) >= len(filled)

    if not rows or not heads(rows[-1]):
        return [], [], rows
    last = _bare(rows[-1])
    if width == 1 and re.search(r"[:=]", last[0]):
        return [], [], rows
    if len(rows) > 1 and heads(rows[-2]) and _are_units(last, dialect):
        return _bare(rows[-2]), last, rows[:-2]
    return last, [], rows[:-1]


def _numbered(rows: Sequence[list[str]], dialect: Dialect) -> list[int]:
    """Return the places at which a heading `Increment` stands above a number."""
    if len(rows) != 2:
        return []
    pairs = enumerate(zip(*rows, strict=False))
    return [k for k, (name, cell) in pairs if _STEP_NAME.search(name) and is_number(cell, dialect.decimal)]


def _bare(cells: Sequence[str]) -> list[str]:
    """Return headings with their repeated encoding undone and without a comment sign before the first."""
    bare = [mended(cell.strip()) for cell in cells]
    bare[0] = bare[0].lstrip("#%! ").removeprefix("//").strip()
    return bare


def _are_units(cells: Sequence[str], dialect: Dialect) -> bool:
    """Tell whether most cells of a row are units."""
    words = [cell for cell in cells if cell and not is_number(cell, dialect.decimal)]
    bracketed = [cell for cell in words if cell[0] in "([{" and cell[-1] in ")]}"]
    known = [cell for cell in words if cell in bracketed or column_unit(cell) or is_index_name(cell)]
    return bool(words) and 2 * len(known) >= len(words) and not is_time_name(words[0])


def _in_headings(names: list[str], units: list[str], dialect: Dialect) -> tuple[float | None, float, frozenset[int]]:
    """Return step and start where a heading `Increment` has its number below it instead of a unit."""
    step, start, columns = None, 0.0, set()
    for k, (name, cell) in enumerate(zip(names, units, strict=False)):
        if not is_number(cell, dialect.decimal):
            continue
        value = float(cell.replace(dialect.decimal, "."))
        if _STEP_NAME.search(name) and value > 0:
            step = value
            columns.add(k)
        elif _START_NAME.search(name):
            start = value
            columns.add(k)
    return (step, start, frozenset(columns)) if step is not None else (None, 0.0, frozenset())


def _named(names: list[str], units: list[str], width: int) -> tuple[list[str], list[str], tuple[str, ...]]:
    """Return name and unit for each column; a heading may hold both."""
    notes: tuple[str, ...] = ()
    filled = len(_filled(names)) if names else 0
    if names and filled != width:
        notes = (f"there are {filled} headings above {width} columns: the headings count from the left",)
    padded = [*names, *[""] * width][:width]
    below = [*units, *[""] * width][:width]
    pairs = [split_name(name) for name in padded]
    found_units = [_unwrapped(under) or unit for (_, unit), under in zip(pairs, below, strict=True)]
    found = [
        name if unit or not under else whole for (name, unit), under, whole in zip(pairs, below, padded, strict=True)
    ]
    return found, found_units, notes


def _unwrapped(text: str) -> str:
    return text.strip().strip("[](){}\"' ")
