"""Units as files write them above a column, and what turns their numbers into SI.

Percent and revolutions per minute stay as they are: the trade reads them so. Temperatures are in degree Celsius. A unit
that is not known here is kept as it is written; the numbers under it are then not touched.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

__all__ = ["ColumnUnit", "column_unit", "split_name", "time_scale"]

_PREFIXES = MappingProxyType(
    {"": 1.0, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "c": 1e-2, "h": 1e2, "k": 1e3, "K": 1e3, "M": 1e6}
)
_WORDS = MappingProxyType({"nano": 1e-9, "micro": 1e-6, "milli": 1e-3, "hecto": 1e2, "kilo": 1e3, "mega": 1e6})


@dataclass(frozen=True)
class ColumnUnit:
    """SI symbol, and SI value = factor x number + offset."""

    symbol: str
    factor: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True)
class _Base:
    symbol: str
    signs: tuple[str, ...]
    words: tuple[str, ...] = ()
    prefixes: str = ""
    factor: float = 1.0
    offset: float = 0.0


_BASES = (
    _Base("V", ("V", "v", "Vdc", "VDC", "V DC"), ("volt", "volts"), "numµμkKM"),
    _Base("A", ("A", "a", "Adc", "ADC", "A DC"), ("amp", "amps", "ampere", "amperes"), "numµμkK"),
    _Base("Ω", ("Ω", "Ω", "ohm", "Ohm", "R"), ("ohm", "ohms"), "mkKM"),
    _Base("Hz", ("Hz", "hz", "HZ"), ("hertz",), "mkKM"),
    _Base("s", ("s", "S", "sec", "Sec", "SEC"), ("second", "seconds", "sekunde", "sekunden", "secs"), "numµμ"),
    _Base("s", ("min",), ("minute", "minutes"), factor=60.0),
    _Base("s", ("h", "hr"), ("hour", "hours"), factor=3600.0),
    _Base("Pa", ("Pa", "pa"), ("pascal", "pascals"), "hkKM"),
    _Base("Pa", ("bar",), ("bar",), "m", 1e5),
    _Base("Pa", ("psi", "PSI", "psig"), (), factor=6894.757293168),
    _Base("Pa", ("inHg", "inHG"), (), factor=3386.389),
    _Base("Pa", ("mmHg",), (), factor=133.322387415),
    _Base("°C", ("°C", "degC", "deg C", "C", "° C"), ("celsius",)),
    _Base("°C", ("°F", "degF", "deg F", "F", "° F"), ("fahrenheit",), factor=5 / 9, offset=-160 / 9),
    _Base("°C", ("K",), ("kelvin",), offset=-273.15),
    _Base("m/s", ("m/s",)),
    _Base("m/s", ("km/h", "kph", "kmh", "KPH"), factor=1 / 3.6),
    _Base("m/s", ("mph", "MPH"), factor=0.44704),
    _Base("kg/s", ("g/s",), factor=1e-3),
    _Base("kg/s", ("kg/s",)),
    _Base("kg/s", ("kg/h",), factor=1 / 3600),
    _Base("rpm", ("rpm", "RPM", "1/min", "r/min", "min-1", "min⁻¹", "U/min")),
    _Base("%", ("%", "pct"), ("percent",)),
    _Base("°", ("°", "deg"), ("degree", "degrees")),
    _Base("m", ("m",), ("metre", "meter"), "µμum"),
    _Base("1", ("1",)),
    _Base("W", ("W",), ("watt", "watts"), "mkK"),
    _Base("Nm", ("Nm", "N m", "N·m")),
)


def _known() -> Mapping[str, ColumnUnit]:
    table: dict[str, ColumnUnit] = {}
    for base in _BASES:
        for prefix in ("", *base.prefixes):
            unit = ColumnUnit(base.symbol, base.factor * _PREFIXES[prefix], base.offset)
            table.update({prefix + sign: table.get(prefix + sign, unit) for sign in base.signs})
        for word in base.words:
            table.setdefault(word, ColumnUnit(base.symbol, base.factor, base.offset))
            if base.prefixes:
                table.update({pre + word: ColumnUnit(base.symbol, base.factor * f) for pre, f in _WORDS.items()})
    return MappingProxyType(table)


_TABLE = _known()
_BRACKETS = re.compile(r"^(?P<name>.*?)[\s_,;:]*(?:\[(?P<a>[^\[\]]*)\]|\((?P<b>[^()]*)\)|\{(?P<c>[^{}]*)\})\s*$")
_BEHIND = (  # in this order: km/h has a stroke of its own, and a letter behind a blank is a channel's more often
    re.compile(r"^(?P<name>.+?)\s+in\s+(?P<unit>\S+)$"),
    re.compile(r"^(?P<name>.+)\s+(?P<unit>\S{2,})$"),
    re.compile(r"^(?P<name>.+?)\s*/\s*(?P<unit>\S+)$"),
    re.compile(r"^(?P<name>.+)_(?P<unit>[^\s_]{2,})$"),
)
_WRAPPED = re.compile(r"^\s*[\[({<\"']*\s*(.*?)\s*[\])}>\"']*\s*$")


def column_unit(text: str) -> ColumnUnit | None:
    """Return what a unit means, brackets around it not counted; None when it is not known."""
    found = _WRAPPED.match(text)
    bare = found[1] if found else text.strip()
    return _TABLE.get(bare) or _TABLE.get(bare.casefold())


def time_scale(text: str) -> float | None:
    """Return the seconds in a unit of time, None when the text is none."""
    unit = column_unit(text)
    return unit.factor if unit is not None and unit.symbol == "s" else None


def split_name(text: str) -> tuple[str, str]:
    """Split a heading such as `Crank [mV]`, `Crank (mV)`, `Crank in mV` or `Crank_mV` into name and unit.

    What stands in brackets is taken for a unit only if it can be one: known, or short and without a digit.
    """
    text = text.strip().strip('"').strip()
    found = _BRACKETS.match(text)
    if found:
        inner = next(group for group in (found["a"], found["b"], found["c"]) if group is not None).strip()
        if column_unit(inner) or (found["a"] is not None and inner):
            return found["name"].strip() or text, inner
        return text, ""
    for pattern in _BEHIND:
        found = pattern.match(text)
        if found and column_unit(found["unit"]):
            return found["name"].strip(" _-"), found["unit"]
    return text, ""
