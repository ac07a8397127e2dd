"""Units as people write them, and their size in SI units by one cached pint registry.

Only this module imports pint, which is slow to start.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache, lru_cache
from types import MappingProxyType

import pint

from proveout.errors import InputError, UnitError

__all__ = ["KINDS", "Base", "Kind", "Unit", "resolve_unit", "step_to_si", "to_si"]

_PREFIXES = MappingProxyType(
    {
        "k": ("kilo", "k"),
        "K": ("kilo", "k"),
        "M": ("mega", "M"),
        "m": ("milli", "m"),
        "u": ("micro", "µ"),
        "µ": ("micro", "µ"),
        "μ": ("micro", "µ"),
        "h": ("hecto", "h"),
        "H": ("hecto", "h"),
    }
)


@dataclass(frozen=True)
class Base:
    """A unit with its spellings in any case, and with the prefixes that may stand before it.

    `unclear` holds the prefixes that people confuse here: 'm' before ohm is milli in print and mega in haste.
    """

    unit: str
    symbol: str
    spellings: tuple[str, ...]
    prefixes: str = ""
    unclear: str = ""


@dataclass(frozen=True)
class Kind:
    """A physical quantity: its SI unit, the units in use in the trade, and the unit of a bare number, if any."""

    name: str
    si: str
    bases: tuple[Base, ...]
    bare: Base | None
    expected: str
    signed: bool = True


@dataclass(frozen=True)
class Unit:
    """A unit that was recognised: pint's name, the symbol to write, and the SI unit of its kind."""

    name: str
    symbol: str
    si: str


_VOLT = Base("volt", "V", ("v", "volt", "volts"), prefixes="kKmuµμ", unclear="M")
_AMPERE = Base("ampere", "A", ("a", "amp", "amps", "ampere", "amperes"), prefixes="kKmuµμ", unclear="M")
_OHM = Base("ohm", "Ω", ("ω", "ohm", "ohms", "r"), prefixes="kKM", unclear="m")
_MEGOHM = Base("megaohm", "MΩ", ("meg", "mega", "megohm", "megohms", "megaohm", "megaohms"))
_KILOHM = Base("kiloohm", "kΩ", ("kilo", "kilohm", "kilohms", "kiloohm", "kiloohms"))
_MILLIOHM = Base("milliohm", "milliohm", ("milliohm", "milliohms"))
_PERCENT = Base("percent", "%", ("%", "percent", "pct"))
_TIMES = Base("dimensionless", "", ("times", "strokes", "applications"))
_HERTZ = Base("hertz", "Hz", ("hz", "hertz"), prefixes="kKM", unclear="m")

_KINDS = (
    Kind("voltage", "volt", (_VOLT,), _VOLT, "V or mV, for example 4.98 V"),
    Kind(
        "resistance",
        "ohm",
        (_OHM, _KILOHM, _MEGOHM, _MILLIOHM),
        _OHM,
        "ohm, kohm or Mohm, for example 0.3 ohm, 12k or OL",
        signed=False,
    ),
    Kind("current", "ampere", (_AMPERE,), _AMPERE, "A or mA, for example 7.1 mA"),
    Kind("frequency", "hertz", (_HERTZ,), _HERTZ, "Hz or kHz, for example 120 Hz", signed=False),
    Kind(
        "pressure",
        "pascal",
        (
            Base("pascal", "Pa", ("pa", "pascal", "pascals"), prefixes="kKhHM", unclear="m"),
            Base("bar", "bar", ("bar", "bars"), prefixes="m", unclear="M"),
            Base("inch_Hg", "inHg", ("inhg", '"hg', "inchhg", "inchesofmercury", "inofmercury")),
            Base("millimeter_Hg", "mmHg", ("mmhg", "torr")),
            Base("inch_H2O", "inH2O", ("inh2o", '"h2o')),
            Base("pound_force_per_square_inch", "psi", ("psi",)),
            Base("standard_atmosphere", "atm", ("atm",)),
        ),
        None,
        "kPa, bar, psi or inHg, for example 20 inHg",
    ),
    Kind(
        "temperature",
        "kelvin",
        (
            Base("degree_Celsius", "°C", ("°c", "c", "degc", "celsius")),
            Base("degree_Fahrenheit", "°F", ("°f", "f", "degf", "fahrenheit")),
            Base("kelvin", "K", ("k", "kelvin")),
        ),
        None,
        "°C or °F, for example 85 °C",
        signed=False,
    ),
    Kind(
        "length",
        "meter",
        (
            Base("meter", "m", ("m", "metre", "metres", "meter", "meters"), prefixes="km", unclear="M"),
            Base("foot", "ft", ("ft", "foot", "feet", "'")),
        ),
        None,
        "m or ft, for example 1500 m or 5000 ft",
    ),
    Kind(
        "count",
        "dimensionless",
        (_TIMES,),
        _TIMES,
        "a whole number, for example 3",
        signed=False,
    ),
    Kind("share", "percent", (_PERCENT,), _PERCENT, "percent, for example 2.5 %"),
    Kind(
        "time",
        "second",
        (
            Base("second", "s", ("s", "sec", "second", "seconds"), prefixes="muµμ", unclear="M"),
            Base("minute", "min", ("min", "mins", "minute", "minutes")),
            Base("hour", "h", ("h", "hr", "hrs", "hour", "hours")),
        ),
        None,
        "min, h or s, for example 12 min",
        signed=False,
    ),
)
KINDS: Mapping[str, Kind] = MappingProxyType({kind.name: kind for kind in _KINDS})


@cache
def _registry() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry()


def _match(text: str, kind: Kind) -> Unit | None:
    """Recognise a spelling of the kind; UnitError for a prefix that is easily confused."""
    if not text and kind.bare is not None:
        return Unit(kind.bare.unit, kind.bare.symbol, kind.si)
    for base in kind.bases:
        if text.casefold() in base.spellings:
            return Unit(base.unit, base.symbol, kind.si)
    for base in kind.bases:
        rest = text[1:].casefold()
        if not (rest in base.spellings or (not rest and base == kind.bare)):
            continue
        if text[0] in base.unclear:
            raise UnitError(
                f"'{text}' can be read as milli or as mega: write the number in {base.symbol}, or "
                f"milli{base.unit} or mega{base.unit} in full"
            )
        if text[0] in base.prefixes:
            prefix, sign = _PREFIXES[text[0]]
            return Unit(prefix + base.unit, sign + base.symbol, kind.si)
    return None


def _written_out(text: str, kind: Kind) -> Unit | None:
    """Recognise a prefix and a unit written in full, which pint knows: millivolt, megavolt."""
    names = {base.unit: base for base in kind.bases}
    for prefix, unit, _ in _registry().parse_unit_name(text.casefold()):
        if unit in names and prefix:
            return Unit(prefix + unit, f"{prefix}{unit}", kind.si)
    return None


def _other_kind(text: str, kind: Kind) -> str:
    """Say what else the unit measures, or return nothing when it is not known."""
    for other in (k for k in _KINDS if k is not kind):
        try:
            found = _match(text, other)
        except UnitError:
            found = None
        if found is not None and text not in _PREFIXES:
            return f"a {other.name}"
    names = _registry().parse_unit_name(text) if text.isalpha() and text.isascii() else ()
    return f"another thing ({names[0][1].replace('_', ' ')})" if names else ""


@lru_cache(maxsize=256)
def resolve_unit(text: str, kind: str) -> Unit:
    """Recognise a unit as it was typed.

    Parameters
    ----------
    text : str
        Without the number; spaces in it do not count. Empty means the unit of a bare number of this kind.
    kind : str
        A key of `KINDS`.

    Raises
    ------
    UnitError
        Unknown (the nearest known one is named), of another kind, missing where it must be given, or unclear.
    InputError
        `kind` is not known.
    """
    if kind not in KINDS:
        raise InputError(f"kind '{kind}' is not known; choose one of {', '.join(KINDS)}")
    wanted = KINDS[kind]
    compact = "".join(text.split())
    found = _match(compact, wanted) or (_written_out(compact, wanted) if compact.isalpha() else None)
    if found is not None:
        return found
    if not compact:
        raise UnitError(f"a {kind} needs its unit: write {wanted.expected}")
    other = _other_kind(compact, wanted)
    if other:
        raise UnitError(f"'{text}' is {other}, and a {kind} is expected here: write {wanted.expected}")
    known = [s for base in wanted.bases for s in base.spellings]
    near = get_close_matches(compact.casefold(), known, n=1, cutoff=0.5)
    hint = f"did you mean '{near[0]}'? Write" if near else "write"
    raise UnitError(f"unit '{text}' is not known for a {kind}: {hint} {wanted.expected}")


def to_si(value: float, unit: Unit) -> float:
    """Convert a value to the SI unit of its kind, to the twelve figures that outlast any typing."""
    converted = _registry().Quantity(value, unit.name).to(unit.si).magnitude
    return float(f"{converted:.12g}")


def step_to_si(step: float, unit: Unit) -> float:
    """Convert a difference of two values, so that the zero of a temperature scale does not enter."""
    return step * (to_si(1.0, unit) - to_si(0.0, unit))
