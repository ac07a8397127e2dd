"""How a text table is written: the sign between its cells and its decimal sign, judged by its rows of numbers."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import dropwhile

from proveout.captures.capture import Guess
from proveout.captures.readers.csv.cells import is_data, is_number
from proveout.captures.readers.overrules import Overrules
from proveout.errors import InputError

__all__ = ["Dialect", "find_dialect"]

_DELIMITERS = (";", "\t", ",", "|", " ")
_NAMES = {";": "semicolon", "\t": "tab", ",": "comma", "|": "bar", " ": "space"}
_JUDGED = 40
_GOOD = 0.75
_SPACES = re.compile(r"[ \t]+")


@dataclass(frozen=True)
class Dialect:
    """The sign between cells, the decimal sign, and whether there is but one column."""

    delimiter: str
    decimal: str
    guesses: tuple[Guess, ...] = ()

    def split(self, line: str) -> list[str]:
        """Return the cells of a line, quotes taken off."""
        if self.delimiter == " ":
            return _SPACES.split(line.strip()) if line.strip() else []
        try:
            return next(csv.reader([line], delimiter=self.delimiter), [])
        except csv.Error:
            return line.split(self.delimiter)


def find_dialect(lines: Sequence[str], overrules: Overrules) -> Dialect:
    """Find the dialect in which most rows at the end of a file's head are numbers.

    Raises
    ------
    InputError
        In no dialect the text is a table of numbers, or comma is both delimiter and decimal sign.
    """
    rows = [line for line in lines if line.strip()][-_JUDGED:]
    delimiters = _DELIMITERS if overrules.delimiter is None else (overrules.delimiter,)
    decimals = (".", ",") if overrules.decimal is None else (overrules.decimal,)
    judged = [(_worth(Dialect(d, p), rows), Dialect(d, p)) for d in delimiters for p in decimals if d != p]
    judged = [(worth, dialect) for worth, dialect in judged if worth[0] >= _GOOD]
    if not judged:
        raise InputError("the text is no table of numbers; give a CSV file, or its delimiter and decimal sign")
    worth, best = max(judged, key=lambda entry: entry[0])
    if worth[1] and best.delimiter == "," and overrules.delimiter is None and overrules.decimal is None:
        best = _comma_decimals(lines, rows, best)
    return Dialect(best.delimiter, best.decimal, _guesses(best, overrules))


def _worth(dialect: Dialect, rows: Sequence[str]) -> tuple[float, bool, float, int, bool]:
    """Rank a dialect: share of rows that are regular and numeric, several columns, how many, the point."""
    split = [_trimmed(dialect.split(row)) for row in rows]
    widths = Counter(len(cells) for cells in split)
    usual = widths.most_common(1)[0][0] if widths else 0
    fits = [_fits(cells, usual, dialect.delimiter, dialect.decimal) for cells in split]
    table = dropwhile(lambda entry: not entry[0], zip(fits, split, strict=True))  # what stands above it does not count
    judged = list(table)
    good = [cells for fit, cells in judged if fit]
    share = len(good) / len(judged) if judged else 0.0
    cells = sum(len(row) for row in good)
    numeric = sum(is_data(cell, dialect.decimal) for row in good for cell in row) / cells if cells else 0.0
    return round(share, 1), usual > 1, round(numeric, 1), usual, dialect.decimal == "."


def _fits(cells: Sequence[str], usual: int, delimiter: str, decimal: str) -> bool:
    """Tell whether cells can be a row of numbers of about the usual width."""
    return (
        0 < len(cells) <= usual + 1
        and is_data(cells[0], decimal)
        and any(is_number(cell, decimal) for cell in cells)
        and sum(is_data(cell, decimal) for cell in cells) >= (1.0 if delimiter == " " else 0.5) * len(cells)
    )


def _trimmed(cells: list[str]) -> list[str]:
    while len(cells) > 1 and not cells[-1].strip():
        cells = cells[:-1]
    return cells


def _comma_decimals(lines: Sequence[str], rows: Sequence[str], best: Dialect) -> Dialect:
    """Tell decimal commas from commas between whole numbers, where a row allows both."""
    split = [cells for cells in (_trimmed(best.split(row)) for row in rows) if all(is_data(c, ".") for c in cells)]
    if not split or not all(cell.strip().lstrip("+-").isdigit() for cells in split[-10:] for cell in cells):
        return best
    width = max(len(cells) for cells in split)
    heads = [cells for cells in map(best.split, lines) if any(not is_data(cell, ".") for cell in cells)]
    named = len(_trimmed(heads[-1])) if heads else 0
    padded = any(cells[1].startswith("0") and len(cells[1]) > 1 for cells in split if len(cells) == 2)
    if width == 2 and (named == 1 or (padded and named != 2)):
        return Dialect(";", ",")
    if width > 2 and 2 * named == width:
        raise InputError(
            f"each row has {width} whole numbers between commas under {named} headings: comma is both the delimiter "
            "and the decimal sign, so the numbers cannot be told apart; export with another delimiter"
        )
    return best


def _guesses(dialect: Dialect, overrules: Overrules) -> tuple[Guess, ...]:
    guesses = []
    if overrules.delimiter is None:
        taken = _NAMES.get(dialect.delimiter, dialect.delimiter)
        guesses.append(Guess("delimiter", taken, "the rows of numbers are most regular so", "delimiter"))
    if overrules.decimal is None:
        taken = "comma" if dialect.decimal == "," else "point"
        guesses.append(Guess("decimal sign", taken, "the cells are numbers so", "decimal"))
    return tuple(guesses)
