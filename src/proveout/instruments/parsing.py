"""Reads what a person types for a reading or a quantity. A doubt is asked about, never guessed away.

The decimal sign is a point or a comma. `12,000` could be twelve or twelve thousand: it is taken only where the
instrument can show just one of them. `12m` of a resistance could be milli or mega, and is asked about.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from proveout.errors import InputError, RangeError, UnitError

from .functions import Function
from .meter import Meter
from .pressure_reference import above_air, below_air, check_vacuum, split_reference
from .reading import Reading
from .units import KINDS, Unit, resolve_unit, step_to_si, to_si

__all__ = ["parse_quantity", "parse_reading"]

_LONGEST = 40
_ZERO_CELSIUS = 273.15
_NOT_READ = frozenset({"-", "--", "---", "–", "—", "−"})
_OVER_LIMIT = re.compile(
    r"[-−]?\s*(?P<word>ol|0l|o\.l\.?|0\.l\.?|over(?: ?(?:limit|load|range))?|open(?: ?circuit)?)(?:\s+(?P<unit>\D*))?",
    re.IGNORECASE,
)
_NO_NUMBER = re.compile(r"[+\-−]?\s*(nan|inf|infinity|∞)\b.*|[+\-−]?\s*∞.*", re.IGNORECASE)
_NUMBER = re.compile(
    r"(?P<sign>[+\-−]?)\s*(?P<digits>[0-9.,]{1,20})(?P<exponent>[eE][+\-−]?[0-9]{1,2})?"
    r"\s*(?P<unit>(?:[^\W\d_]|[°\"%])(?:[^\W_]|[°\"/%\- ])*)?"
)
# IEC 60062: the multiplier's letter stands in the place of the decimal sign.
_LETTER_CODE = re.compile(r"([0-9]{1,6})([rRkKMm])([0-9]{1,6})")
_COUPLED = re.compile(r"(?P<unit>.*[va])(?P<coupling>ac|dc|pp|p-p)", re.IGNORECASE)
_COUPLINGS = {
    Function.VOLTS_AC: ("ac",),
    Function.SCOPE_SWING: ("pp", "p-p"),
}


@dataclass(frozen=True)
class _Typed:
    """A number with its unit text, not yet converted."""

    text: str
    decimals: int
    exponent: int
    unit: str

    @property
    def value(self) -> float:
        return float(f"{self.text}e{self.exponent}") + 0.0

    @property
    def step(self) -> float:
        return 10.0 ** (self.exponent - self.decimals)

    def written(self, unit: Unit) -> str:
        power = f"e{self.exponent}" if self.exponent else ""
        return f"{self.text}{power} {unit.symbol}".rstrip()


def _clean(text: str) -> str:
    stripped = text.strip()
    if not stripped:
        raise InputError("nothing was typed: type what the instrument shows, OL, or - when it could not be read")
    if len(stripped) > _LONGEST:
        raise InputError(f"'{stripped[:_LONGEST]}…' is longer than a reading: type one number and its unit")
    return stripped


def _split(text: str, kind: str) -> tuple[_Typed, ...]:
    """Split into number and unit; two results where a comma can be a decimal or a thousands sign."""
    if _NO_NUMBER.fullmatch(text):
        raise InputError(
            f"'{text}' is not a number: type OL when the display is over limit, or - when it cannot be read"
        )
    coded = _LETTER_CODE.fullmatch(text) if kind == "resistance" else None
    if coded:
        whole, letter, part = coded.groups()
        text = f"{whole}.{part}{letter}"
    match = _NUMBER.fullmatch(text)
    if match is None or not any(c.isdigit() for c in match["digits"]):
        raise InputError(f"'{text}' is not a number with a unit: write {KINDS[kind].expected}")
    digits = match["digits"]
    if digits.count(".") + digits.count(",") > 1:
        raise InputError(f"'{digits}' has more than one point or comma: write it without thousands signs")
    sign = "-" if match["sign"] in ("-", "−") else ""
    exponent = int(match["exponent"][1:].replace("−", "-")) if match["exponent"] else 0
    whole, _, part = digits.replace(",", ".").partition(".")
    number = f"{whole or '0'}.{part}" if part else whole
    readings = [_Typed(sign + number, len(part), exponent, match["unit"] or "")]
    if "," in digits and len(part) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0"):
        readings.append(_Typed(sign + whole + part, 0, exponent, match["unit"] or ""))
    return tuple(readings)


def _unclear_comma(text: str, first: _Typed, second: _Typed) -> InputError:
    return InputError(
        f"'{text}' can be {first.text} or {second.text}: write one of these, with a point or without a comma"
    )


def _coupling(unit: str, function: Function) -> str:
    """Take ac, dc or pp off a unit; UnitError when the function measures another one."""
    match = _COUPLED.fullmatch("".join(unit.split()))
    if match is None:
        return unit
    allowed = _COUPLINGS.get(function, ("dc",))
    if match["coupling"].lower() not in allowed:
        raise UnitError(
            f"'{unit}' does not belong to a '{function}' reading, which is in {match['unit']} {allowed[0]}: set the "
            "instrument as the test says and read again"
        )
    return match["unit"]


def _over_limit(text: str, function: Function) -> Reading | None:
    match = _OVER_LIMIT.fullmatch(text)
    if match is None:
        return None
    if match["word"].lower().startswith("open") and not function.drives:
        raise InputError(f"'{text}' is said of an ohms test, and this is '{function}': type the number shown, or OL")
    if match["unit"]:
        resolve_unit(match["unit"], _quantity(function))
    return Reading.over(function.unit)


def _check_span(text: str, value: float, function: Function, meter: Meter) -> None:
    least, most = meter.span(function)
    if value < least * (1.0 + 1e-9) and function.kind == "resistance":
        raise RangeError(
            f"'{text}' is a negative resistance: a voltage is left on the circuit, or the leads were zeroed apart. "
            "Measure volts between the same two places, zero the leads and read again"
        )
    if value < least * (1.0 + 1e-9) or value > most * (1.0 + 1e-9):
        raise RangeError(
            f"'{text}' is outside what '{meter.name}' shows as '{function}', {meter.show(function, least)} to "
            f"{meter.show(function, most)}: check the prefix, or type OL if the display said so"
        )


def _fits(value: float, function: Function, meter: Meter) -> bool:
    try:
        _check_span("", value, function, meter)
    except RangeError:
        return False
    return True


def _quantity(function: Function) -> str:
    """Return the kind of the units in which a function's readings are typed."""
    return "pressure" if function.kind == "vacuum" else function.kind


def _referred(number: _Typed, unit: str, function: Function, text: str, air: float | None) -> tuple[float, Unit]:
    """Return the value as the function counts it, in its own unit, and the unit as typed."""
    bare, reference = split_reference(unit) if _quantity(function) == "pressure" else (unit, None)
    found = resolve_unit(_coupling(bare, function), _quantity(function))
    value = to_si(number.value, found)
    if function.kind == "vacuum":
        return below_air(value, reference, text, air), found
    if function.kind == "pressure":
        return above_air(value, reference, text, air), found
    return (value - _ZERO_CELSIUS if function.kind == "temperature" else value), found


def parse_reading(text: str, function: Function, meter: Meter, air: float | None = None) -> Reading:
    """Read what a person typed for one reading of a meter, scope, gauge or thermometer.

    Parameters
    ----------
    text : str
        `0.3`, `0.3 ohm`, `0.3 Ω`, `12k`, `4k7`, `4,98 V`, `350 mV`, `OL`, `open`; `-` for could not be read. A bare
        number is in V, Ω or A. The last typed digit gives the resolution, but never finer than the meter's.
    function : Function
        What the test measures.
    meter : Meter
        Whose span the reading must lie in.
    air : float [Pa], optional
        Pressure of the surrounding air, for absolute pressures and for a vacuum that cannot be.

    Returns
    -------
    Reading

    Raises
    ------
    UnitError
        The unit is unknown, of another kind, or unclear.
    RangeError
        The meter cannot show the value.
    InputError
        Not a number, or one that can be read in two ways.
    """
    typed = _clean(text)
    meter.capability(function)
    if typed in _NOT_READ:
        return Reading.unread(function.unit)
    over = _over_limit(typed, function)
    if over is not None:
        return over
    candidates = _split(typed, _quantity(function))
    values = [_referred(c, c.unit, function, typed, air) for c in candidates]
    unit = values[0][1]
    possible = [k for k, (value, _) in enumerate(values) if _fits(value, function, meter)]
    if len(possible) > 1:
        raise _unclear_comma(typed, *candidates)
    k = possible[0] if possible else 0
    chosen, value = candidates[k], values[k][0]
    if function.kind == "vacuum":
        check_vacuum(value, typed, air)
    _check_span(typed, value, function, meter)
    resolution = max(step_to_si(chosen.step, unit), float(meter.resolution(function, value)))
    shown = typed if _quantity(function) == "pressure" else chosen.written(unit)
    return Reading(value, over_limit=False, shown=shown, unit=function.unit, resolution=resolution)


def parse_quantity(text: str, kind: str, default_unit: str = "") -> float:
    """Read a physical quantity that a person typed.

    Parameters
    ----------
    text : str
        `20 inHg`, `85 °C`, `12 min`, `120 Hz`.
    kind : str
        `voltage`, `resistance`, `current`, `frequency`, `pressure`, `temperature`, `length` or `time`.
    default_unit : str
        The unit of a bare number. Without it, pressure, temperature and time need a unit.

    Returns
    -------
    float
        In V, Ω, A, Hz, Pa, K or s. Pressures are converted, not referred to the atmosphere: gauge stays gauge.

    Raises
    ------
    UnitError
        The unit is unknown, of another kind, missing or unclear.
    RangeError
        Below zero where that cannot be (below absolute zero for a temperature).
    InputError
        Not a number, or one that can be read in two ways, or an unknown kind.
    """
    typed = _clean(text)
    if kind not in KINDS:
        raise InputError(f"kind '{kind}' is not known; choose one of {', '.join(KINDS)}")
    candidates = _split(typed, kind)
    if len(candidates) > 1:
        raise _unclear_comma(typed, *candidates)
    number = candidates[0]
    value = to_si(number.value, resolve_unit(number.unit or default_unit, kind))
    if value < 0.0 and not KINDS[kind].signed:
        least = "absolute zero" if kind == "temperature" else "zero"
        raise RangeError(f"'{typed}' is below {least}, which a {kind} cannot be: check the sign and the unit")
    if not math.isfinite(value):
        raise InputError(f"'{typed}' is too large to be a {kind}: check the digits")
    return value
