"""How severe a fault is, written with the unit of what it changes: `1.20 kΩ`, `x 1.3` of the good value."""

from __future__ import annotations

import math

from proveout.instruments.display import engineering
from proveout.network import ELEMENTS, FaultMode

__all__ = ["TIMES", "severity_span", "severity_unit"]

TIMES = "x"
"""Unit of a severity that multiplies the good value."""
_SYMBOLS = {"ohm": "Ω", "1": ""}


def severity_unit(kind: str, mode: FaultMode) -> str:
    """Return the unit of a fault mode's severity on an element kind: a symbol, `TIMES`, or nothing."""
    if mode.parameter is None:
        return ""
    unit = ELEMENTS[kind].parameters[mode.parameter].unit
    return TIMES if mode.relative else _SYMBOLS.get(unit, unit)


def severity_span(low: float, high: float, unit: str) -> str:
    """Return a span of severities in words: `211 Ω to 16.7 kΩ`, `x 1.3`; nothing where it has no end."""
    if math.isinf(high):
        return ""
    first, last = _value(low, unit), _value(high, unit)
    return first if first == last else f"{first} to {last}"


def _value(value: float, unit: str) -> str:
    if unit == TIMES:
        return f"{TIMES} {float(f'{value:.2g}'):g}"
    return engineering(value, unit) if unit else f"{value:.3g}"
