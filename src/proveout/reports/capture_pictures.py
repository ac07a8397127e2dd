"""Pictures of a capture that was attached to a case: a stretch of its signal with marks, and its wheel."""

from __future__ import annotations

import numpy as np

from proveout.cases.events import CaptureAttached, CaptureOutline
from proveout.reports.trace_figure import Trace, draw_traces
from proveout.reports.wheel_figure import draw_wheel

__all__ = ["capture_pictures"]


def capture_pictures(event: CaptureAttached, title: str) -> tuple[str, ...]:
    """Return the drawings as SVG text: the signal where it was kept, and the wheel where one was found."""
    found = event.found
    drawn = [] if event.outline is None else [_signal(event, event.outline, title)]
    drawn += [draw_wheel(wheel) for wheel in found.wheels if wheel.channel == event.channel]
    return tuple(drawn)


def _signal(event: CaptureAttached, outline: CaptureOutline, title: str) -> str:
    extremes = np.array(outline.extremes, dtype=float).reshape(-1, 2)
    trace = Trace(event.channel, outline.unit, extremes)
    return draw_traces([trace], outline.begin, outline.end, event.found.marks, title=title)
