"""Captures as the pages see them: opened once, any stretch as extremes, analysed beside the pages."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analyse import findings_of, study_of
from proveout.captures.analysis.by_angle import OverTurn
from proveout.captures.analysis.speed_trace import speed_trace
from proveout.captures.capture import Capture
from proveout.captures.compare import Comparison, compare, matched_channels, overlay
from proveout.captures.findings import CaptureFindings
from proveout.captures.pyramid import Pyramid
from proveout.captures.study import Study
from proveout.cases.capture_shelf import CaptureShelf, Shelved
from proveout.errors import InputError
from proveout.web.background import Background, Job
from proveout.web.recent import Recent

__all__ = ["Analysed", "Beside", "Captures", "OpenCapture", "Speed"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class OpenCapture:
    """A capture on the shelf with its samples and their extremes; `span` is its first and last time [s]."""

    shelved: Shelved
    capture: Capture
    pyramids: Sequence[Pyramid]
    span: tuple[float, float]

    def extremes(self, channel: int, begin: float, end: float, columns: int) -> Floats:
        """Return least and most of columns of equal time, (columns, 2); raises as `Pyramid.envelope_between`."""
        return self.pyramids[channel].envelope_between(self.capture.channels[channel].clock, begin, end, columns)

    def value_at(self, channel: int, time: float) -> float | None:
        """Return the sample next to a time, the one that holds then where values hold; None outside the record."""
        found = self.capture.channels[channel]
        clock, count = found.clock, found.samples.size
        if clock.rate is not None:
            place = (time - clock.start) * clock.rate
        else:
            place = float(np.interp(time, np.asarray(clock.times), np.arange(count), left=-1.0, right=float(count)))
        index = int(np.floor(place + 1e-6)) if clock.holds else round(place)
        value = float(found.samples[index]) if 0 <= index < count else float("nan")
        return value if np.isfinite(value) else None


@dataclass(frozen=True)
class Speed:
    """Speed of a wheel over time: middle of each interval between teeth [s], and the speed there [turn/s]."""

    times: Floats
    speed: Floats


@dataclass(frozen=True)
class Analysed:
    """What was found in a capture, and the speed of each channel that has a wheel."""

    findings: CaptureFindings
    speeds: Mapping[str, Speed] = field(default_factory=dict)


@dataclass(frozen=True)
class Beside:
    """Two captures beside one another; `turns` holds both over the angle of the wheel where they have the same one."""

    comparison: Comparison
    pairs: Mapping[str, str]
    turns: Mapping[str, tuple[OverTurn, OverTurn]]


class Captures:
    """The captures of a workbench.

    Parameters
    ----------
    folder : Path
        Of the shelf.
    """

    def __init__(self, folder: Path) -> None:
        self.shelf = CaptureShelf(folder)
        # A file is read while another one is still being analysed.
        self.reading, self._analysing = Background(), Background()
        self.drawn: Recent[Hashable, str] = Recent(64)
        self._open: Recent[tuple[Any, ...], OpenCapture] = Recent(6)

    def open(self, number: int) -> OpenCapture:
        """Return a capture, opened once for what was said of it; raises as `CaptureShelf.open`."""
        shelved = self.shelf.get(number)
        return self._open.made(_key(shelved), lambda: self._opened(shelved))

    def analysed(self, number: int) -> Job[Analysed]:
        """Return the job of a capture's analysis."""
        opened = self.open(number)
        key = ("analysis", *_key(opened.shelved), tuple(sorted(opened.shelved.roles.items())))
        return self._analysing.job(key, lambda progress: _analysed(opened))

    def beside(self, number: int, reference: int) -> Job[Beside]:
        """Return the job of comparing a capture with another one."""
        now, other = self.open(number), self.open(reference)
        key = ("beside", _key(now.shelved), _key(other.shelved), repr((now.shelved.roles, other.shelved.roles)))
        return self._analysing.job(key, lambda progress: _beside(now, other))

    def _opened(self, shelved: Shelved) -> OpenCapture:
        capture = self.shelf.archive.open(shelved.sha256, shelved.overrules)
        pyramids = [self.shelf.archive.pyramid(capture, c.name, shelved.overrules) for c in capture.channels]
        ends = [(float(c.clock.at(0)), float(c.clock.at(c.samples.size - 1))) for c in capture.channels]
        begin, end = min(first for first, _ in ends), max(last for _, last in ends)
        return OpenCapture(shelved, capture, pyramids, (begin, end if end > begin else begin + 1e-6))


def _key(shelved: Shelved) -> tuple[Any, ...]:
    return (shelved.number, shelved.sha256, repr(shelved.overrules))


def _analysed(opened: OpenCapture) -> Analysed:
    study = study_of(opened.capture, opened.shelved.roles)
    return Analysed(findings_of(study), _speeds(study))


def _speeds(study: Study) -> dict[str, Speed]:
    found = {}
    for name, channel in study.channels.items():
        try:
            if channel.usable and channel.toothed and channel.wheel.wheel is not None:
                trace = speed_trace(channel.grid, channel.spacing)
                found[name] = Speed(trace.times, trace.speed)
        except InputError:
            continue
    return found


def _beside(now: OpenCapture, other: OpenCapture) -> Beside:
    compared = compare(now.capture, other.capture, now.shelved.roles, other.shelved.roles)
    mine, theirs = study_of(now.capture, now.shelved.roles), study_of(other.capture, other.shelved.roles)
    pairs = matched_channels(mine, theirs)
    return Beside(compared, pairs, overlay(mine, theirs, pairs))
