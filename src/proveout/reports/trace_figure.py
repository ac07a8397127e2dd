"""Recorded signals over a stretch of time as a drawing: the extremes of each column, and marks on what was found."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.captures.findings import Mark
from proveout.instruments.display import engineering
from proveout.reports.svg import Circle, Picture, Polygon, Polyline, Shape, Text, text_width, to_svg

__all__ = ["Trace", "draw_traces", "traces_picture"]

LEFT, RIGHT, TOP, WIDTH, ROW, BETWEEN = 74.0, 18.0, 22.0, 860.0, 170.0, 30.0
# Colours: Okabe and Ito (2008), told apart by colour-blind eyes; the second capture is drawn broken.
COLOURS = ("#0072b2", "#a34700", "#00734f", "#8c3a6b", "#1b6f9e", "#6b5300")
MARK = "#8c1620"
TICKS = 7
MOST_NAMED = 6
GAP = 8.0


@dataclass(frozen=True)
class Trace:
    """One channel in a picture.

    Attributes
    ----------
    name, unit : str
    extremes : (column, 2) float64
        Least and most of each column of equal time; NaN where there is no sample.
    beside : (column, 2) float64 or None
        The same of another capture, drawn broken.
    """

    name: str
    unit: str
    extremes: NDArray[np.float64]
    beside: NDArray[np.float64] | None = None


def draw_traces(traces: Sequence[Trace], begin: float, end: float, marks: Iterable[Mark] = (), *, title: str) -> str:
    """Return the drawing as SVG text; arguments as in `traces_picture`."""
    return to_svg(traces_picture(traces, begin, end, marks, title=title))


def traces_picture(
    traces: Sequence[Trace],
    begin: float,
    end: float,
    marks: Iterable[Mark] = (),
    *,
    title: str,
    across: str = "s",
) -> Picture:
    """Return the drawing as shapes, one row for each channel.

    Parameters
    ----------
    traces : sequence of Trace
    begin, end : float
        The picture's ends, in the unit `across`: seconds, or degrees of a wheel.
    marks : iterable of Mark
        Those in the stretch are drawn as lines from top to bottom, the first few with what they are.
    """
    shapes: list[Shape] = []
    within = [mark for mark in marks if mark.end >= begin and mark.start <= end]
    for k, trace in enumerate(traces):
        top = TOP + k * (ROW + BETWEEN)
        own = [mark for mark in within if trace.name in mark.channel.split(" + ")]
        shapes += [*_frame(trace, top), *_marks(own, begin, end, top), *_curve(trace, top, COLOURS[k % len(COLOURS)])]
    foot = TOP + len(traces) * (ROW + BETWEEN) - BETWEEN
    shapes += _times(begin, end, foot, across)
    about = f"{', '.join(trace.name for trace in traces)}, {_number(end - begin, across)}, {len(within)} marks"
    return Picture(LEFT + WIDTH + RIGHT, foot + 34.0, title, about, tuple(shapes))


def _span(trace: Trace) -> tuple[float, float]:
    """Return least and most of a row with some room about it."""
    values = trace.extremes if trace.beside is None else np.concatenate([trace.extremes, trace.beside])
    known = values[np.isfinite(values)]
    if not known.size:
        return -1.0, 1.0
    low, high = float(known.min()), float(known.max())
    room = 0.06 * (high - low) or max(abs(high), 1.0) * 0.1
    return low - room, high + room


def _frame(trace: Trace, top: float) -> list[Shape]:
    low, high = _span(trace)
    right, foot = LEFT + WIDTH, top + ROW
    corners = ((LEFT, top), (right, top), (right, foot), (LEFT, foot))
    shapes: list[Shape] = [Polygon(corners, "#fff", "#111", 1.0)]
    for value in _round_values(low, high, 5):
        y = foot - ROW * (value - low) / (high - low)
        shapes.append(Polyline(((LEFT, y), (right, y)), "#ccc", 0.8))
        shapes.append(Text(LEFT - 6.0, y + 3.5, _number(value, trace.unit), 9.5, "end"))
    return [*shapes, Text(LEFT, top - 6.0, trace.name, 11.0, bold=True)]


def _curve(trace: Trace, top: float, colour: str) -> list[Shape]:
    low, high = _span(trace)
    shapes = list(_runs(trace.extremes, top, low, high, colour, ""))
    if trace.beside is not None:
        shapes += _runs(trace.beside, top, low, high, "#555", "5 3")
    return shapes


def _runs(
    extremes: NDArray[np.float64], top: float, low: float, high: float, colour: str, dash: str
) -> Iterable[Shape]:
    """Yield a zigzag from least to most through each run of known columns."""
    columns = len(extremes)
    known = np.isfinite(extremes[:, 0])
    x = LEFT + WIDTH * (np.arange(columns) + 0.5) / columns
    y = top + ROW - ROW * (extremes - low) / (high - low)
    if known.sum() < 0.5 * columns:
        # Fewer samples than columns: they are joined.
        yield from _joined(x[known], y[known], colour, dash)
        return
    edges = np.flatnonzero(np.diff(np.concatenate([[0], known.astype(int), [0]])))
    for start, stop in zip(edges[::2], edges[1::2], strict=True):
        points = [
            (float(x[k]), float(y[k, side])) for k in range(start, stop) for side in ((0, 1) if k % 2 else (1, 0))
        ]
        yield Polyline(tuple(points), colour, 1.2, dash, role="trace")


def _joined(x: NDArray[np.float64], y: NDArray[np.float64], colour: str, dash: str) -> Iterable[Shape]:
    points = tuple((float(a), float(b)) for a, b in zip(x, y[:, 0], strict=True))
    if len(points) > 1:
        yield Polyline(points, colour, 1.4, dash, role="trace")
    if len(points) < 120:
        yield from (Circle(a, b, 1.8, colour, colour, 0.8) for a, b in points)


def _marks(marks: Sequence[Mark], begin: float, end: float, top: float) -> list[Shape]:
    shapes: list[Shape] = []
    free = LEFT
    for number, mark in enumerate(marks):
        first, last = (LEFT + WIDTH * (min(max(t, begin), end) - begin) / (end - begin) for t in (mark.start, mark.end))
        if last - first > 1.0:
            corners = ((first, top), (last, top), (last, top + ROW), (first, top + ROW))
            shapes.append(Polygon(corners, "#fbe6e6", MARK, 0.8, "3 2"))
        else:
            shapes.append(Polyline(((first, top), (first, top + ROW)), MARK, 1.0, "3 2", role="mark"))
        shapes.append(Polygon(((first - 4.0, top), (first + 4.0, top), (first, top + 7.0)), MARK, MARK, 0.8))
        if number < MOST_NAMED and first >= free:
            shapes.append(Text(first + 5.0, top + 13.0, mark.kind, 9.0, colour=MARK, backed=True))
            free = first + GAP + text_width(mark.kind, 9.0)
    return shapes


def _times(begin: float, end: float, foot: float, unit: str) -> list[Shape]:
    shapes: list[Shape] = []
    for value in _round_values(begin, end, TICKS):
        x = LEFT + WIDTH * (value - begin) / (end - begin)
        shapes.append(Polyline(((x, foot), (x, foot + 4.0))))
        shapes.append(Text(x, foot + 16.0, _number(value, unit), 9.5, "middle"))
    return shapes


def _round_values(low: float, high: float, most: int) -> list[float]:
    """Return at most `most` round values within a span: multiples of 1, 2 or 5 times a power of ten."""
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in (1.0, 2.0, 5.0, 10.0) if power * factor >= rough)
    return [k * step for k in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _number(value: float, unit: str) -> str:
    if unit == "°":
        return f"{value:.4g}°"
    return engineering(value, unit) if unit and unit != "1" else f"{value:.4g}"
