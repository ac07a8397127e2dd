"""The rows of a text table as arrays: pyarrow's reader where every cell is a number, with patience where not."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray
from pyarrow import compute
from pyarrow import csv as arrow_csv

from proveout.captures.capture import Samples
from proveout.captures.readers.counting import counted
from proveout.captures.readers.csv.cells import LEVELS, MINUS, mark, number_pattern
from proveout.captures.readers.csv.dialect import Dialect
from proveout.captures.readers.extent import extent
from proveout.errors import InputError

__all__ = ["Cells", "Kind", "Rows", "parse"]

_NO_SIGN = 1.0e37  # SCPI-1999, 7.2.1.4 and 7.2.1.5, from memory: 9.9e37 stands for infinity and 9.91e37 for no number
_NOT_A_NUMBER = 9.905e37
_IRREGULAR = "CSV parse error"  # how pyarrow begins when rows differ in their count of cells
_SHOWN = 40


@dataclass(frozen=True)
class Kind:
    """What a column is read as: 'single', 'double' or 'text'."""

    name: str

    @property
    def arrow(self) -> pa.DataType:
        """The same in pyarrow's words."""
        return {"single": pa.float32(), "double": pa.float64(), "text": pa.string()}[self.name]


@dataclass(frozen=True)
class Cells:
    """One column.

    Attributes
    ----------
    values : (row,) float
        NaN where a cell is no number; empty for a column of text.
    blank : (row,) bool or None
        Where a cell is empty.
    text : pyarrow array or None
        The cells of a column of text.
    over_low, over_high, over : int
        Cells marked below range, above range, and beyond it without a sign.
    words : int
        Cells that are neither number nor mark, and the first of them.
    """

    values: Samples
    blank: NDArray[np.bool_] | None = None
    text: pa.ChunkedArray | None = None
    over_low: int = 0
    over_high: int = 0
    over: int = 0
    words: int = 0
    first_word: str = ""


@dataclass(frozen=True)
class Rows:
    """All columns, and what is odd about the rows."""

    columns: list[Cells]
    notes: tuple[str, ...] = ()


def parse(data: memoryview, dialect: Dialect, kinds: Sequence[Kind | None], encoding: str) -> Rows:
    """Read all rows; a column whose kind is None is left out (its place stays, empty).

    Raises
    ------
    InputError
        The text cannot be read as rows.
    """
    data, notes = _whole_rows(data, dialect)
    table, told = _persistently(data, dialect, kinds, encoding)
    columns = [
        Cells(np.empty(0, np.float32)) if kind is None else _cells(table[str(k)], kind, dialect)
        for k, kind in enumerate(kinds)
    ]
    return Rows(columns, (*notes, *told))


def _persistently(
    data: memoryview, dialect: Dialect, kinds: Sequence[Kind | None], encoding: str
) -> tuple[pa.Table, tuple[str, ...]]:
    """Read the rows as they are, then with all rows brought to one width, then with every cell as text."""
    try:
        return _read(data, dialect, kinds), ()
    except pa.ArrowInvalid as error:
        notes: tuple[str, ...] = ()
        if _IRREGULAR in str(error):
            data, notes = _regular(data, dialect, len(kinds), encoding)
    data = memoryview(bytes(data).decode(encoding, "replace").encode("utf-8"))
    encoding = "utf-8"
    texts = [None if kind is None else Kind("text") for kind in kinds]
    for wanted in (kinds, texts):
        try:
            return _read(data, dialect, wanted), notes
        except pa.ArrowInvalid as error:
            if _IRREGULAR in str(error) and not notes:
                data, notes = _regular(data, dialect, len(kinds), encoding)
            told = (str(error).splitlines() or [""])[0][:200]
    try:
        return _read(data, dialect, texts), notes
    except pa.ArrowInvalid as error:
        raise InputError(f"the rows cannot be read: {told}; the file is damaged or no table") from error


def _read(data: memoryview, dialect: Dialect, kinds: Sequence[Kind | None]) -> pa.Table:
    names = [str(k) for k in range(len(kinds))]
    wanted = {name: kind.arrow for name, kind in zip(names, kinds, strict=True) if kind is not None}
    return arrow_csv.read_csv(
        pa.BufferReader(pa.py_buffer(data)),
        arrow_csv.ReadOptions(column_names=names),
        arrow_csv.ParseOptions(delimiter=dialect.delimiter, ignore_empty_lines=len(kinds) > 1),
        arrow_csv.ConvertOptions(
            check_utf8=any(kind is not None and kind.name == "text" for kind in kinds),
            column_types=wanted,
            include_columns=list(wanted),
            null_values=[""],
            strings_can_be_null=False,
            decimal_point=dialect.decimal,
        ),
    )


def _whole_rows(data: memoryview, dialect: Dialect) -> tuple[memoryview, tuple[str, ...]]:
    """Cut off a last row that ends in the middle, and make rows between single spaces of aligned ones."""
    notes: tuple[str, ...] = ()
    tail = bytes(data[-65536:])
    if tail and tail[-1:] not in (b"\n", b"\r"):
        lines = re.split(rb"\r\n|\n|\r", tail)[1 if data.nbytes > len(tail) else 0 :]
        usual = [len(line) for line in lines[:-1] if line.strip()]
        sign = dialect.delimiter.encode()
        cells = [line.count(sign) for line in lines[:-1] if line.strip()]
        if usual and cells and (len(lines[-1]) < min(usual) or lines[-1].count(sign) < min(cells)):
            shown = lines[-1][:_SHOWN].decode("utf-8", "replace")
            notes = (f"the last row is cut short ('{shown}') and left out: the file was not written to its end",)
            data = data[: data.nbytes - len(lines[-1])]
    if dialect.delimiter == " ":
        data = memoryview(re.sub(rb"(?m)^ +| +(?=\r?$)", b"", re.sub(rb"[ \t]+", b" ", data)))
    return data, notes


def _regular(data: memoryview, dialect: Dialect, width: int, encoding: str) -> tuple[memoryview, tuple[str, ...]]:
    """Bring every row to one width: fill short ones up, drop empty cells at the end, leave rows of words out."""
    text = io.StringIO(bytes(data).decode(encoding, "replace").replace("\x00", ""), newline=None)
    out = io.StringIO()
    writer = csv.writer(out, delimiter=dialect.delimiter, lineterminator="\n")
    pattern = number_pattern(dialect.decimal)
    short, long, worded = list[int](), list[int](), list[str]()
    csv.field_size_limit(1 << 20)
    try:
        for number, row in enumerate(csv.reader(text, delimiter=dialect.delimiter), start=1):
            cells = row
            while len(cells) > width and not cells[-1].strip():
                cells = cells[:-1]
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) != width and not any(pattern.fullmatch(cell.strip()) for cell in cells):
                worded.append(dialect.delimiter.join(row))
                continue
            if len(cells) < width:
                short.append(number)
            elif len(cells) > width:
                long.append(number)
            writer.writerow([*cells, *[""] * width][:width])
    except csv.Error as error:
        raise InputError(f"the rows cannot be read: {error}; the file is damaged or no table") from error
    notes = []
    if short:
        notes.append(
            f"{counted(len(short), 'row')} with fewer than {width} cells, first row {short[0]}: the others are empty"
        )
    if long:
        notes.append(
            f"{counted(len(long), 'row')} with more than {width} cells, first row {long[0]}: those beyond are left out"
        )
    if worded:
        notes.append(
            f"{counted(len(worded), 'line')} without numbers among the rows left out, first '{worded[0][:_SHOWN]}'"
        )
    return memoryview(out.getvalue().encode("utf-8", "replace")), tuple(notes)


def _cells(column: pa.ChunkedArray, kind: Kind, dialect: Dialect) -> Cells:
    if kind.name == "text":
        return Cells(np.empty(0, np.float32), text=column)
    if pa.types.is_floating(column.type):
        blank = np.asarray(column.is_null().to_numpy(), dtype=bool) if column.null_count else None
        return _beyond(Cells(_array(column), blank))
    return _beyond(_from_text(column, kind, dialect))


def _array(column: pa.ChunkedArray) -> Samples:
    values: Samples = column.to_numpy()
    return values if values.flags.writeable else values.copy()


def _beyond(cells: Cells) -> Cells:
    """Turn infinities and the numbers that stand for them into NaN, and count them."""
    values = cells.values
    if not values.size:
        return cells
    with np.errstate(invalid="ignore"):
        low, high = extent(values)
        if not (low <= -_NO_SIGN or high >= _NO_SIGN):
            return cells
        above = (values >= _NO_SIGN) & ~((values > _NOT_A_NUMBER) & np.isfinite(values))
        below = values <= -_NO_SIGN
    values[np.abs(values) >= _NO_SIGN] = np.nan
    return Cells(
        values,
        cells.blank,
        cells.text,
        cells.over_low + int(below.sum()),
        cells.over_high + int(above.sum()),
        cells.over,
        cells.words,
        cells.first_word,
    )


def _from_text(column: pa.ChunkedArray, kind: Kind, dialect: Dialect) -> Cells:
    """Turn cells of text into numbers, marks and what is neither."""
    text = compute.replace_substring(compute.utf8_trim_whitespace(column), MINUS, "-")
    numeric = compute.match_substring_regex(text, f"^(?:{number_pattern(dialect.decimal).pattern})$")
    plain = compute.if_else(numeric, text, pa.scalar(None, pa.string()))
    if dialect.decimal == ",":
        plain = compute.replace_substring(plain, ",", ".")
    plain = compute.replace_substring_regex(plain, r"^\+", "")
    values = _array(plain.cast(pa.float64()))
    blank = np.asarray(compute.equal(text, "").to_numpy(), dtype=bool)
    rest = np.flatnonzero(np.isnan(values) & ~blank)
    counts = {"above": 0, "below": 0, "over": 0, "words": 0}
    first = ""
    for row, cell in zip(rest, text.take(pa.array(rest)).to_pylist(), strict=True):
        level = LEVELS.get(cell.casefold())
        found = mark(cell)
        if level is not None:
            values[row] = level
        elif found in counts:
            counts[found] += 1
        elif not found:
            counts["words"] += 1
            first = first or cell
    with np.errstate(over="ignore"):
        array: Samples = values.astype(np.float32) if kind.name == "single" else values
    return Cells(
        array,
        blank if blank.any() else None,
        None,
        counts["below"],
        counts["above"],
        counts["over"],
        counts["words"],
        first[:_SHOWN],
    )
