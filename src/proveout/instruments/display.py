"""How values are written for people: a meter's own digits, and engineering notation for everything else."""

from __future__ import annotations

import math

from .functions import Function

__all__ = ["NOT_READ", "OVER_LIMIT", "describe", "engineering", "fixed"]

OVER_LIMIT = "OL"
NOT_READ = "-"
_PREFIXES = {-6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
_LEAST_SHOWN = 1e-6
_NO_PREFIX = frozenset({"°C", "K", "s", "min", "mm2", "m", "N", "%"})
_INCH_OF_MERCURY = 3386.389  # pascal, conventional: NIST SP 811, table B.8, from memory


def _power(size: float, unit: str) -> int:
    """Power of ten of the prefix; ohms have no milli, which is too easily read as mega."""
    lowest = 0 if unit == "Ω" else -6
    return min(9, max(lowest, 3 * math.floor(math.log10(size) / 3)))


def fixed(value: float, resolution: float, full_scale: float, unit: str) -> str:
    """Write a value with the digits and the prefix that a range of a meter has.

    Parameters
    ----------
    value, resolution, full_scale : float
        In SI units; the resolution is the value of the last digit.
    unit : str
        Symbol of the SI unit.
    """
    # A full scale of exactly 1000 V is shown in volts, so the prefix is that of just below full scale.
    power = 0 if unit in _NO_PREFIX else _power(full_scale * 0.999, unit)
    step = resolution / 10.0**power
    decimals = max(0, math.ceil(-math.log10(step) - 1e-9))
    scaled = round(value / resolution) * step
    if unit == "1":
        return f"{round(value / resolution) * resolution + 0.0:.0f}"
    return f"{scaled + 0.0:.{decimals}f} {_PREFIXES[power]}{unit}"


def engineering(value: float, unit: str) -> str:
    """Write a value with an SI prefix and three figures, at most two of them decimals.

    Parameters
    ----------
    value : float
        In SI units. NaN is `-` (not read), an infinity is `OL`; less than a millionth is `0`.
    unit : str
        Symbol of the SI unit.

    Returns
    -------
    str
        `4.98 V`, `0.31 Ω`, `12.0 kΩ`, `7.10 mA`.
    """
    if math.isnan(value):
        return NOT_READ
    if math.isinf(value):
        return OVER_LIMIT
    if unit in _NO_PREFIX:
        return f"{value + 0.0:.3g} {unit}" if abs(value) < 100 else f"{value:.0f} {unit}"
    if abs(value) < _LEAST_SHOWN:
        return f"0 {unit}"
    rounded = float(f"{value:.2e}")
    power = _power(abs(rounded), unit)
    scaled = rounded / 10.0**power
    digits = math.floor(math.log10(abs(scaled)) + 1e-9)
    decimals = max(0, min(2, 2 - digits)) if digits >= -1 else 1 - digits
    return f"{scaled:.{decimals}f} {_PREFIXES[power]}{unit}"


def describe(function: Function, value: float) -> str:
    """Write a value of a function for any face: `4.98 V`, `0.31 Ω`, `12.0 kΩ`, `7.10 mA`, `OL`, `-`.

    A vacuum is written in inches of mercury too, as gauges have it; a count is a bare number.
    """
    if not math.isfinite(value):
        return engineering(value, function.unit)
    if function.kind == "count":
        return f"{value + 0.0:.0f}"
    if function.kind == "vacuum":
        return f"{engineering(value, 'Pa')} ({value / _INCH_OF_MERCURY + 0.0:.1f} inHg)"
    return engineering(value, function.unit)
