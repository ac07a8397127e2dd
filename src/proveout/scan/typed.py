"""A warm-up trace typed by hand: minutes and temperatures read off a display, as `0:20 5:48 10:83`."""

from __future__ import annotations

import re

import numpy as np

from proveout.errors import InputError
from proveout.scan.log import Log, Series
from proveout.scan.parameters import parameters
from proveout.scan.plausible import doubts_of

__all__ = ["typed_log"]

_POINT = re.compile(r"(\d+(?:[.,]\d+)?)\s*:\s*(-?\d+(?:[.,]\d+)?)")
LEAST_POINTS = 4


def typed_log(text: str, unit: str, ambient: float | None = None) -> Log:
    """Return typed points as a log of coolant temperature.

    Parameters
    ----------
    text : str
        Points `minutes:temperature`, apart by spaces, commas or semicolons, the earliest first.
    unit : str
        `C` or `F`: asked for, never supposed.
    ambient : float or None [°C]
        Of the air, where it is known.

    Raises
    ------
    InputError
        If a point cannot be read, times do not rise, there are fewer than four, or the unit is not given.
    """
    if unit not in ("C", "F"):
        raise InputError(f"the unit of the typed temperatures is '{unit}'; say C or F")
    points = [(_number(m[1]), _number(m[2])) for m in _POINT.finditer(text)]
    left = _POINT.sub(" ", text)
    rest = re.sub(r"[\s,;]+", "", left)
    if rest or len(points) < LEAST_POINTS:
        wrong = f"'{rest}' is no point" if rest else f"{len(points)} points are too few"
        raise InputError(f"{wrong}: type at least {LEAST_POINTS} as minutes:temperature, such as 0:18 4:47 8:71 12:88")
    minutes, shown = (np.array(column) for column in zip(*points, strict=True))
    if not (np.diff(minutes) > 0).all():
        raise InputError("the minutes of the typed points must rise from one to the next; put them in order")
    celsius = shown if unit == "C" else (shown - 32.0) / 1.8
    coolant = Series(parameters()["coolant"], "typed", 60.0 * (minutes - minutes[0]), celsius)
    series = {"coolant": coolant}
    if ambient is not None:
        series["ambient"] = Series(parameters()["ambient"], "typed", np.zeros(1), np.array([ambient]))
    doubts = doubts_of(coolant.parameter, coolant.times, coolant.values)
    return Log(series, float(coolant.times[-1]), doubts=doubts, notes=tuple(d.text for d in doubts))


def _number(text: str) -> float:
    return float(text.replace(",", "."))
