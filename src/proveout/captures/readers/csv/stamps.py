"""Times of day and dates as text, as seconds since the midnight before the first of them."""

from __future__ import annotations

import datetime
import re

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray
from pyarrow import compute

from proveout.captures.readers.csv.cells import CLOCK

__all__ = ["seconds_of_day", "stamps_rounding"]

_DAY = 86400.0
_PLAIN = r"^\d\d:\d\d:\d\d(\.\d{1,9})?$"


def seconds_of_day(texts: pa.ChunkedArray) -> NDArray[np.float64]:
    """Return seconds since the midnight before the first stamp, NaN where a cell is none; days go on past midnight."""
    trimmed = compute.utf8_trim_whitespace(texts)
    if compute.all(compute.match_substring_regex(trimmed, _PLAIN)).as_py():
        values = _plain(trimmed)
    else:
        values = np.array([_one(text) for text in trimmed.to_pylist()], dtype=np.float64)
    known = values[np.isfinite(values)]
    if known.size:
        values = values - np.floor(known[0] / _DAY) * _DAY
    return _past_midnight(values)


def stamps_rounding(texts: list[str]) -> float:
    """Return the step to which stamps are written [s]."""
    digits = [len(found["f"] or "") for found in map(CLOCK.fullmatch, texts) if found]
    return 10.0 ** -max(digits) if digits else 0.0


def _plain(texts: pa.ChunkedArray) -> NDArray[np.float64]:
    """Return the seconds of stamps that are all of the form HH:MM:SS.fff."""
    parts = [compute.utf8_slice_codeunits(texts, start, stop) for start, stop in ((0, 2), (3, 5), (6, 18))]
    hours, minutes, seconds = (np.asarray(part.cast(pa.float64()).to_numpy()) for part in parts)
    return np.asarray(hours * 3600.0 + minutes * 60.0 + seconds)


def _one(text: str | None) -> float:
    found = CLOCK.fullmatch((text or "").strip())
    if found is None:
        return float("nan")
    hour, minute, second = int(found["H"]), int(found["M"]), int(found["S"] or 0)
    if found["S"] is None and found["f"]:
        hour, minute, second = 0, hour, minute
    if found["ap"]:
        hour = hour % 12 + (12 if found["ap"].lower() == "pm" else 0)
    part = int(found["f"]) / 10 ** len(found["f"]) if found["f"] else 0.0
    return _day(found) * _DAY + hour * 3600.0 + minute * 60.0 + second + part


def _day(found: re.Match[str]) -> int:
    """Return the day number of a date, 0 without one; a day and month that cannot be told apart count as day first."""
    try:
        if found["y"]:
            return datetime.date(int(found["y"]), int(found["m"]), int(found["d"])).toordinal()
        if found["a"]:
            first, second, year = int(found["a"]), int(found["b"]), int(found["c"])
            day, month = (first, second) if (second <= 12 and found["sep"] != "/") or first > 12 else (second, first)
            return datetime.date(year + (2000 if year < 100 else 0), month, day).toordinal()
    except ValueError:
        return 0
    return 0


def _past_midnight(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Let times of day without a date go on past midnight."""
    steps = np.diff(values, prepend=values[:1])
    return values + _DAY * np.cumsum(steps < -_DAY / 2)
