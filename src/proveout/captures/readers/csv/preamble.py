"""Lines above a table: what they say about instrument and date, and the sample interval that many of them hold."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from proveout.captures.readers.column_units import time_scale

__all__ = ["details_of", "interval_in", "start_in"]

_RATE = re.compile(
    r"sampl\w*[ _-]*(rate|freq\w*)|sampling[ _-]*(rate|freq\w*)|^fs\b|abtast(rate|frequenz)|samples? per sec|^rate\b"
    r"|record\w* rate|data rate",
    re.IGNORECASE,
)
_STEP = re.compile(
    r"(sampl\w*|time|record\w*|x|horizontal|h)?[ _-]*(interval|increment|incr?\b|resolution)|delta[ _-]*t\b|Δ ?t|^dt\b"
    r"|time step|step time|abtastintervall|sampl\w* (period|time|spacing|step)|seconds? per sample|^period\b",
    re.IGNORECASE,
)
_START = re.compile(r"^(x|h(orizontal)?)[ _-]*(zero|orig\w*|start)|^start time$|^first sample", re.IGNORECASE)
_NOT = re.compile(r"vertical|\by[ _-]|volt|bit|trigger|screen|pixel|\bbw\b|band", re.IGNORECASE)
_AMOUNT = re.compile(r"(?P<n>[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(?P<u>[^\s\d;,()\[\]]*)")
_PER_SECOND = re.compile(r"^(?P<p>[kKMGm]?)(Hz|HZ|hz|S/s|Sa/s|Sps|sps|SPS|samples/s|S/sec|/s)$")
_BRACKET = re.compile(r"[\[(]\s*([^\])]+?)\s*[\])]")
_PREFIX: Mapping[str, float] = {"": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9, "m": 1e-3}
_SIGNS = "#%;'\"! \t"


def details_of(rows: Sequence[Sequence[str]]) -> dict[str, str]:
    """Return what the lines say, by key; a line without a key and a value is left out."""
    found: dict[str, str] = {}
    for row in rows:
        cells = [cell.strip() for cell in row]
        filled = [cell for cell in cells if cell]
        if not filled:
            continue
        key, value = filled[0].lstrip(_SIGNS).removeprefix("//").strip(), " ".join(filled[1:])
        if not value:
            parts = re.split(r"\s*[:=]\s*", key, maxsplit=1)
            if len(parts) != 2:
                continue
            key, value = parts
        key = key.rstrip(" :=")
        if key and value and key not in found:
            found[key] = value.strip(" \"'")
    return found


def interval_in(details: Mapping[str, str]) -> tuple[float, str] | None:
    """Return the step between samples [s] and the words that say so, None when nothing says it."""
    for key, value in details.items():
        amount = _AMOUNT.search(value)
        if amount is None or _NOT.search(key):
            continue
        number = float(amount["n"].replace(",", "."))
        bracket = _BRACKET.search(key)
        unit = amount["u"].strip(" .:\"'") or (bracket[1] if bracket else "")
        step = _step(key, number, unit)
        if step is not None and 0 < step < float("inf"):
            said = f"the lines above the table say '{key}: {value}'"
            assumed = "" if unit else ", taken in s or Hz, for no unit is given"
            return step, said + assumed
    return None


def start_in(details: Mapping[str, str]) -> float:
    """Return the time of the first sample [s], 0 when nothing says it."""
    for key, value in details.items():
        amount = _AMOUNT.fullmatch(value.strip())
        if amount is not None and _START.search(key):
            return float(amount["n"].replace(",", ".")) * (time_scale(amount["u"]) or 1.0)
    return 0.0


def _step(key: str, number: float, unit: str) -> float | None:
    """Return the step [s] that a key, a number and a unit mean, None when they mean none."""
    per_second = _PER_SECOND.match(unit)
    scale = time_scale(unit) if unit else None
    if not number > 0:
        return None
    if _RATE.search(key):
        if per_second or not unit:
            return 1 / (number * (_PREFIX[per_second["p"]] if per_second else 1.0))
        return None if scale is None else number * scale
    if _STEP.search(key):
        if per_second:
            return 1 / (number * _PREFIX[per_second["p"]])
        return number * (scale or 1.0) if scale is not None or not unit else None
    return None
