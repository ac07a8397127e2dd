"""A log of standard parameters: each with its own times, in SI units, and what is odd about it said in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.captures import Capture, Channel
from proveout.errors import InputError
from proveout.scan.parameters import Parameter, parameter_of, parameters
from proveout.scan.plausible import Doubt, doubts_of

__all__ = ["Gap", "Log", "Series", "log_of"]

Array = NDArray[np.float64]

LONGEST_SILENCE = 10.0  # s without any row: a gap; loggers send each parameter every second or so


@dataclass(frozen=True)
class Series:
    """One parameter: the log's own name of it, times (sample,) [s] from the start of the log, values (sample,)."""

    parameter: Parameter
    column: str
    times: Array
    values: Array

    def at(self, times: Array) -> Array:
        """Return the last value that was there at each time, the first one before it came, (time,)."""
        place = np.searchsorted(self.times, times, side="right") - 1
        return self.values[np.maximum(place, 0)]


@dataclass(frozen=True)
class Gap:
    """A stretch of time [s] in which the log holds no row."""

    start: float
    end: float


@dataclass(frozen=True)
class Log:
    """What a file of standard parameters holds.

    `series` by parameter name; `others` are the columns that are no known parameter; `gaps` where nothing was logged;
    `doubts` what cannot be right as it stands; `notes` everything said about the reading.
    """

    series: Mapping[str, Series]
    duration: float
    others: tuple[str, ...] = ()
    gaps: tuple[Gap, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    notes: tuple[str, ...] = ()

    def wanted(self, name: str) -> Series:
        """Return the series of a parameter.

        Raises
        ------
        InputError
            If the log does not hold it; the message names the columns that it holds.
        """
        if name in self.series:
            return self.series[name]
        held = ", ".join(f"'{s.column}'" for s in self.series.values()) or "none"
        raise InputError(
            f"the log has no column for {parameters()[name].title.lower()}; of standard parameters it has {held}"
        )

    def in_fahrenheit(self) -> Log:
        """Return the log with its temperatures taken as degree Fahrenheit, whatever the file says."""
        series = {
            name: replace(s, values=(s.values - 32.0) / 1.8) if s.parameter.unit == "°C" else s
            for name, s in self.series.items()
        }
        said = "temperatures are taken as degree Fahrenheit because you say so"
        return _doubted(replace(self, series=series, notes=(*self.notes, said)))

    def with_ambient(self, celsius: float) -> Log:
        """Return the log with the air's temperature as it is told, in place of what was logged."""
        told = Series(parameters()["ambient"], "told", np.zeros(1), np.array([celsius]))
        return replace(self, series={**self.series, "ambient": told})


def log_of(capture: Capture) -> Log:
    """Return the standard parameters among the channels of a capture.

    Of two columns for one parameter (pedal D and E) the first is taken, and the other is named.

    Raises
    ------
    InputError
        If no channel is a standard parameter; the message names the channels.
    """
    found: dict[str, tuple[Parameter, Channel]] = {}
    others = []
    for channel in capture.channels:
        parameter = parameter_of(channel.name)
        if parameter is None or parameter.name in found:
            others.append(channel.name)
        else:
            found[parameter.name] = (parameter, channel)
    if not found:
        raise InputError(
            f"'{capture.origin.name}' holds no standard parameter; its columns are "
            f"{', '.join(repr(c.name) for c in capture.channels)}: name one 'Coolant Temperature [°C]' or the like"
        )
    clocks = [_times(channel) for _, channel in found.values()]
    start = min(float(t[0]) for t in clocks)
    series = {
        name: _series(parameter, channel, times - start)
        for (name, (parameter, channel)), times in zip(found.items(), clocks, strict=True)
    }
    duration = max(float(s.times[-1]) for s in series.values())
    return _doubted(Log(series, duration, tuple(others), _gaps(series.values()), (), capture.notes))


def _times(channel: Channel) -> Array:
    return np.asarray(channel.clock.at(np.arange(channel.samples.size)), dtype=float)


def _series(parameter: Parameter, channel: Channel, times: Array) -> Series:
    values = np.asarray(channel.samples, dtype=float)
    known = np.isfinite(values)
    return Series(parameter, channel.name, times[known], values[known])


def _gaps(series: Iterable[Series]) -> tuple[Gap, ...]:
    rows = np.unique(np.concatenate([s.times for s in series]))
    silent = np.flatnonzero(np.diff(rows) > LONGEST_SILENCE)
    return tuple(Gap(float(rows[k]), float(rows[k + 1])) for k in silent)


def _doubted(log: Log) -> Log:
    doubts = tuple(d for s in log.series.values() for d in doubts_of(s.parameter, s.times, s.values))
    gaps = tuple(
        f"nothing was logged from {gap.start:.0f} s to {gap.end:.0f} s; what happened meanwhile is not supposed"
        for gap in log.gaps
    )
    known = tuple(n for n in log.notes if n not in gaps)
    said = tuple(d.text for d in doubts)
    return replace(log, doubts=doubts, notes=(*known, *gaps, *(t for t in said if t not in known)))
