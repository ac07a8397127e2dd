"""What a cell of a text table can be: a number, a time of day, an over-range mark, a level in words, or nothing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["CLOCK", "LEVELS", "MINUS", "is_data", "is_number", "mark", "number_pattern"]

_NUMBERS: Mapping[str, re.Pattern[str]] = MappingProxyType(
    {
        ".": re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?"),
        ",": re.compile(r"[+-]?(\d+,?\d*|,\d+)([eE][+-]?\d+)?"),
    }
)
CLOCK = re.compile(
    r"((?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})[T ]+"
    r"|(?P<a>\d{1,2})(?P<sep>[./-])(?P<b>\d{1,2})[./-](?P<c>\d{2,4})[T ,]+)?"
    r"(?P<H>\d{1,3}):(?P<M>\d{2})(:(?P<S>\d{2}))?([.,](?P<f>\d{1,9}))?\s*(?P<ap>[aApP][mM])?(?P<z>Z|[+-]\d{2}:?\d{2})?"
)
MINUS = "\u2212"
"""The sign that typesetters and some programs write for a hyphen."""

LEVELS: Mapping[str, float] = MappingProxyType(
    {"high": 1.0, "low": 0.0, "h": 1.0, "l": 0.0, "on": 1.0, "off": 0.0, "true": 1.0, "false": 0.0}
)
"""Logic levels in words."""

_ABOVE = frozenset({"inf", "infinity", "∞", "1.#inf", "1.#inf00", "over", "overflow", "overload", "ovld", "ovr"})
_ABOVE_ONLY_SIGNED = frozenset({"ol", "o.l", "o.l.", "ovf"})
_NOTHING = frozenset(
    {"", "nan", "-nan", "n/a", "na", "#n/a", "#na", "null", "none", "-", "--", "---", "----", "?", "1.#qnan", "1.#ind"}
    | {"-1.#ind", "-1.#ind00", "1.#ind00", "1.#qnan0", "invalid", "no data", "x", "#value!", "#div/0!"}
)
_STARS = re.compile(r"[+-]?[*#]+|[*#]+")


def number_pattern(decimal: str) -> re.Pattern[str]:
    """Return the pattern of a whole number cell."""
    return _NUMBERS[decimal]


def is_number(cell: str, decimal: str) -> bool:
    """Tell whether a cell is a number."""
    return bool(_NUMBERS[decimal].fullmatch(cell.strip().replace(MINUS, "-")))


def mark(cell: str) -> str:
    """Return what a cell without a number says: above, below, over (sign unknown), nothing; empty for a word."""
    text = cell.strip().casefold().replace(MINUS, "-")
    if text in _NOTHING:
        return "nothing"
    bare = text.lstrip("+-").strip()
    if bare in _ABOVE or (bare in _ABOVE_ONLY_SIGNED and text != bare):
        return "below" if text.startswith("-") else "above"
    if text in ("under", "underflow", "underrange"):
        return "below"
    if bare in _ABOVE_ONLY_SIGNED or bare in ("overrange", "over range", "clipped", "clip"):
        return "over"
    return "over" if _STARS.fullmatch(text) else ""


def is_data(cell: str, decimal: str) -> bool:
    """Tell whether a cell can stand in a row of data."""
    text = cell.strip()
    return (
        is_number(text, decimal)
        or bool(mark(text))
        or text.casefold() in LEVELS
        or bool(CLOCK.fullmatch(text.replace(decimal, ".") if decimal == "," else text))
    )
