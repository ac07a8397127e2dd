"""How finely the numbers of a text table are written, from rows at several places of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from proveout.captures.readers.csv.dialect import Dialect
from proveout.captures.readers.csv.layout import lines_of

__all__ = ["Written", "sampled_rows", "written"]

_PLACES = 5
_SHORT, _LONG = 4096, 65536
_SHORT_LINE = 400
_SINGLE = 7  # significant digits that single precision gives back, but for rounding of the last
_NUMBER = re.compile(r"^\s*[+-]?(?P<i>\d*)(?:[.,](?P<f>\d*))?(?:[eE](?P<e>[+-]?\d+))?\s*$")


@dataclass(frozen=True)
class Written:
    """Most significant digits, and the coarsest step that cells of exponent form or the finest that fixed ones have."""

    digits: int = 0
    rounding: float = 0.0

    @property
    def single(self) -> bool:
        """Whether single precision holds what is written."""
        return self.digits <= _SINGLE


def sampled_rows(data: memoryview, dialect: Dialect, encoding: str) -> list[list[str]]:
    """Return rows from the beginning, the end and places between."""
    rows: list[list[str]] = []
    first = re.search(rb"[\r\n]", bytes(data[:_SHORT_LINE]))
    size = _LONG if first is None else _SHORT
    for k in range(_PLACES):
        start = max(0, (data.nbytes - size) * k // (_PLACES - 1))
        lines = lines_of(data[start : start + size], size, encoding)
        rows += [dialect.split(line.text) for line in lines[1 if start else 0 :]]
        if data.nbytes <= size:
            break
    return rows


def written(cells: Sequence[str]) -> Written:
    """Return how finely cells of one column are written."""
    digits, fixed, coarse = 0, 0, 0.0
    for cell in cells:
        found = _NUMBER.match(cell)
        if found is None or not (found["i"] or found["f"]):
            continue
        fraction = found["f"] or ""
        digits = max(digits, len(((found["i"] or "") + fraction).lstrip("0")))
        if found["e"]:
            coarse = max(coarse, 10.0 ** max(-300, min(300, int(found["e"]) - len(fraction))))
        else:
            fixed = max(fixed, len(fraction))
    return Written(digits, coarse or 10.0 ** -min(fixed, 300))
