"""The stretch of a recorded channel that a report shows, drawn from the samples once, when it is attached."""

from __future__ import annotations

import math

from proveout.captures.capture import Channel
from proveout.captures.findings import CaptureFindings
from proveout.captures.pyramid import build
from proveout.cases.events import CaptureOutline
from proveout.diagnosis.trace_levels import LOST

__all__ = ["capture_outline"]

COLUMNS = 480
TURNS = 2.5
"""Turns of the wheel that are shown about the first place where the signal is lost, or in the middle."""
DIGITS = 4


def capture_outline(channel: Channel, findings: CaptureFindings) -> CaptureOutline:
    """Return the outline of a channel: all of it, or where its wheel was found a few turns about what is odd."""
    begin, end = _stretch(channel, findings)
    extremes = build(channel.samples).envelope_between(channel.clock, begin, end, COLUMNS)
    rows = tuple((_rounded(float(least)), _rounded(float(most))) for least, most in extremes)
    return CaptureOutline(begin=begin, end=end, unit=channel.unit, extremes=rows)


def _stretch(channel: Channel, findings: CaptureFindings) -> tuple[float, float]:
    first, last = float(channel.clock.at(0)), float(channel.clock.at(max(channel.samples.size - 1, 1)))
    if not last > first:
        last = first + 1.0
    speed = next((f.value for f in findings.of("mean speed", channel.name) if f.value), None)
    lost = [mark for mark in findings.marks if mark.channel == channel.name and mark.kind in LOST]
    middle = 0.5 * (lost[0].start + lost[0].end) if lost else 0.5 * (first + last)
    width = TURNS / speed if speed else last - first
    if lost:
        width = max(width, 1.5 * (lost[0].end - lost[0].start))
    if width >= last - first:
        return first, last
    begin = min(max(middle - 0.5 * width, first), last - width)
    return begin, begin + width


def _rounded(value: float) -> float | None:
    return float(f"{value:.{DIGITS}g}") if math.isfinite(value) else None
