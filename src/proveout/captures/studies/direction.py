"""Direction of rotation and roll-back, in words: from pulse lengths, from a third level, from two tracks."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from proveout.captures.analysis.pulse_direction import direction_of_pulses
from proveout.captures.analysis.quadrature import quadrature
from proveout.captures.analysis.reversals import Reversal, reversals
from proveout.captures.findings import Finding, Mark, Undecided
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.study import ChannelStudy, Study

__all__ = ["ANALYSIS"]

_NAME = "direction"
_TWO_TRACKS = ("on/off voltage", "two-level current")


def _run(study: Study) -> Iterator[Found]:
    for name, channel in study.channels.items():
        if not channel.usable:
            continue
        if channel.kind.kind == "direction-coded pulses":
            yield from _from_lengths(name, channel)
        elif channel.kind.kind == "two-level current":
            yield from _from_third_level(name, channel)
    yield from _from_tracks(study)


def _from_lengths(name: str, channel: ChannelStudy) -> Iterator[Found]:
    found = direction_of_pulses(channel.edges)
    for entry in found.lengths:
        text = f"{entry.count} pulses of {1e6 * entry.length:.0f} µs: {entry.says}"
        yield Finding(_NAME, f"pulses of {1e6 * entry.published:.0f} µs", name, float(entry.count), "1", text=text)
    if found.unknown:
        yield Undecided(_NAME, name, f"{found.unknown} pulses have no published length")
    if np.any(found.sense):
        yield from _turned_back(name, found.reversals, "pulse")
    else:
        yield Undecided(_NAME, name, "direction: no pulse says one")
    reason = "which of the two senses is forwards depends on the side that the sensor sits on"
    yield Undecided(_NAME, name, reason)


def _from_third_level(name: str, channel: ChannelStudy) -> Iterator[Found]:
    """Tell reverse by pulses of four times the low level, as sensors with a third level give it (7, 14, 28 mA)."""
    top = channel.levels.third
    if not math.isfinite(top):
        return
    rising = channel.edges.rising[:-1]
    tops, times = channel.peaks[rising], channel.edges.times[:-1][rising]
    third = tops > (channel.levels.high + top) / 2
    text = f"{int(third.sum())} of {tops.size} pulses reach the third level"
    yield Finding(_NAME, "third level", name, top, channel.channel.unit, text=text)
    yield from _turned_back(name, reversals(times, np.where(third, -1, 1).astype(np.int8)), "pulse")


def _from_tracks(study: Study) -> Iterator[Found]:
    tracks = [
        (name, channel)
        for name, channel in study.channels.items()
        if channel.usable and channel.kind.kind in _TWO_TRACKS and channel.toothed
    ]
    for (first, a), (second, b) in combinations(tracks[:8], 2):
        counts = a.edges.times.size, b.edges.times.size
        if min(counts) < 16 or max(counts) > 1.1 * min(counts) + 4:
            continue
        found = quadrature(a.edges, b.edges)
        if not found.plausible:
            continue
        both = f"{first} + {second}"
        text = f"'{second}' follows '{first}' by {found.shift:.2f} of a period"
        yield Finding(_NAME, "two tracks", both, found.shift, "1", text=text)
        ahead = int(found.position[-1])
        text = f"{abs(ahead)} quarter periods on, '{first if ahead >= 0 else second}' leading"
        yield Finding(_NAME, "travel", both, float(abs(ahead)) / 4, "1", text=text)
        yield from _turned_back(both, found.reversals, "quarter period")


def _turned_back(name: str, found: tuple[Reversal, ...], step: str) -> Iterator[Found]:
    text = "turned back" if found else "one direction throughout"
    yield Finding(_NAME, "roll-backs", name, float(len(found)), "1", 0.0, text=text)
    for back in found:
        text = f"turned back over {back.steps} {step}s"
        yield Mark("roll-back", name, back.start, back.end, text, count=back.steps)


ANALYSIS = Analysis("direction", "Direction of rotation", _run)
