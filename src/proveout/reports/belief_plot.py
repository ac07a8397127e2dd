"""Belief over time: the probability of each suspect after each piece of evidence, as a plot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from proveout.errors import InputError
from proveout.network.laws import Array
from proveout.reports.svg import Circle, Picture, Polygon, Polyline, Shape, Text, to_svg, wrap

__all__ = ["belief_picture", "draw_belief"]

SHOWN = 6
LEFT, TOP, HEIGHT, STEP_LEAST, WIDTH = 46.0, 42.0, 230.0, 14.0, 560.0
LABEL_WIDTH = 210.0
LABEL_PITCH = 13.0
OTHERS = "all others together"
TOLERANCE = 1e-6


@dataclass(frozen=True)
class _Style:
    colour: str
    width: float
    dash: str
    mark: str


# Colours: Okabe and Ito (2008), told apart by colour-blind eyes; dashes and marks tell the lines apart in print.
STYLES = (
    _Style("#0072b2", 2.8, "", "disc"),
    _Style("#d55e00", 2.0, "9 4", "square"),
    _Style("#009e73", 2.0, "2.5 3", "triangle"),
    _Style("#cc79a7", 2.0, "12 3 2.5 3", "diamond"),
    _Style("#56b4e9", 1.6, "", "ring"),
    _Style("#a07800", 1.6, "6 2", "cross"),
)
REST = _Style("#777777", 1.2, "1.5 4", "")


def draw_belief(labels: Sequence[str], suspects: Mapping[str, Array], *, conclusion: float | None = None) -> str:
    """Return the plot as SVG text.

    Parameters
    ----------
    labels : sequence of str, (n,)
        What was learnt at each step, the start first.
    suspects : mapping of str to (n,) float
        Probability of each suspect after each step; they need not sum to 1 (the rest is 'others').
    conclusion : float, optional
        Probability at which a cause counts as found, drawn as a level line.

    Raises
    ------
    InputError
        If a suspect has another number of values than there are labels, or a value outside 0 to 1.
    """
    return to_svg(belief_picture(labels, suspects, conclusion=conclusion))


def belief_picture(labels: Sequence[str], suspects: Mapping[str, Array], *, conclusion: float | None = None) -> Picture:
    """Return the plot as shapes; arguments as in `draw_belief`."""
    series = _series(labels, suspects)
    step = max(STEP_LEAST, WIDTH / max(1, len(labels) - 1))
    right = LEFT + step * max(1, len(labels) - 1)
    shapes: list[Shape] = [*_axes(len(labels), step, right), *_level(conclusion, right)]
    for _, values, style in reversed(series):
        shapes += _line(values, step, style)
    shapes += _end_labels(series, right)
    foot = TOP + HEIGHT + 40.0
    key = _key(labels, right + LABEL_WIDTH)
    shapes += [Text(LEFT, foot + 13.0 * i, line, 10.0) for i, line in enumerate(key)]
    height = foot + 13.0 * len(key) + 4.0
    about = "; ".join(f"{title}: {100 * values[-1]:.0f} % at the end" for title, values, _ in series)
    return Picture(right + LABEL_WIDTH + 16.0, height, "Belief over time", about, tuple(shapes))


def _series(labels: Sequence[str], suspects: Mapping[str, Array]) -> list[tuple[str, Array, _Style]]:
    """Return the leading suspects by their highest probability, and the rest as one line."""
    if not labels:
        raise InputError("a plot of belief needs at least the start; it has no step. Give one label for each step.")
    for title, values in suspects.items():
        if np.shape(values) != (len(labels),):
            raise InputError(
                f"suspect '{title}' has {np.size(values)} probabilities for {len(labels)} steps; give one for each step"
            )
        if not np.all((np.asarray(values) >= -TOLERANCE) & (np.asarray(values) <= 1 + TOLERANCE)):
            raise InputError(f"suspect '{title}' has a probability outside 0 to 1; give shares of 1")
    order = sorted(suspects, key=lambda title: (-float(suspects[title][-1]), -float(np.max(suspects[title])), title))
    peaks = sorted(order, key=lambda title: -max(float(suspects[title][-1]), float(np.max(suspects[title]))))
    leading = [title for title in order if title in peaks[:SHOWN]]
    chosen = [(title, np.asarray(suspects[title], dtype=float)) for title in leading]
    found = [(title, values, style) for (title, values), style in zip(chosen, STYLES, strict=False)]
    rest = 1.0 - sum((values for _, values in chosen), np.zeros(len(labels)))
    if np.any(rest > 5e-3):
        found.append((OTHERS, np.clip(rest, 0.0, 1.0), REST))
    return found


def _y(share: float) -> float:
    return TOP + HEIGHT * (1.0 - share)


def _axes(count: int, step: float, right: float) -> list[Shape]:
    shapes: list[Shape] = [Text(LEFT - 36.0, TOP - 18.0, "Probability that it is the cause", 11.0, bold=True)]
    for percent in (0, 25, 50, 75, 100):
        y = _y(percent / 100)
        shapes.append(Polyline(((LEFT, y), (right, y)), "#bbb" if percent else "#111", 0.8 if percent else 1.3))
        shapes.append(Text(LEFT - 6.0, y + 3.6, f"{percent} %", 10.0, "end"))
    every = max(1, round(18.0 / step + 0.49))
    for number in range(count):
        x = LEFT + step * number
        shapes.append(Polyline(((x, _y(0)), (x, _y(0) + 4.0))))
        if number % every == 0:
            shapes.append(Text(x, _y(0) + 15.0, str(number), 10.0, "middle"))
    return shapes


def _level(conclusion: float | None, right: float) -> list[Shape]:
    if conclusion is None:
        return []
    y = _y(conclusion)
    return [
        Polyline(((LEFT, y), (right, y)), "#111", 1.0, "1 3"),
        Text(right, TOP - 6.0, f"conclusion at {100 * conclusion:g} % (dotted)", 9.0, "end", colour="#444"),
    ]


def _line(values: Array, step: float, style: _Style) -> list[Shape]:
    points = tuple((LEFT + step * i, _y(float(value))) for i, value in enumerate(values))
    line = points if len(points) > 1 else (points[0], (points[0][0] + step, points[0][1]))
    shapes: list[Shape] = [Polyline(line, style.colour, style.width, style.dash, role="belief")]
    return [*shapes, *(mark for x, y in points for mark in _mark(x, y, style))]


def _mark(x: float, y: float, style: _Style) -> list[Shape]:
    c = style.colour
    match style.mark:
        case "disc":
            return [Circle(x, y, 3.2, c, c, 1.0)]
        case "ring":
            return [Circle(x, y, 3.2, "#fff", c, 1.4)]
        case "square":
            return [Polygon(((x - 3, y - 3), (x + 3, y - 3), (x + 3, y + 3), (x - 3, y + 3)), c, c, 1.0)]
        case "triangle":
            return [Polygon(((x - 3.6, y + 3), (x + 3.6, y + 3), (x, y - 3.6)), c, c, 1.0)]
        case "diamond":
            return [Polygon(((x - 3.8, y), (x, y - 3.8), (x + 3.8, y), (x, y + 3.8)), "#fff", c, 1.4)]
        case "cross":
            return [
                Polyline(((x - 3, y - 3), (x + 3, y + 3)), c, 1.6),
                Polyline(((x - 3, y + 3), (x + 3, y - 3)), c, 1.6),
            ]
    return []


def _end_labels(series: list[tuple[str, Array, _Style]], right: float) -> list[Shape]:
    """Write each line's name beside its end, apart from one another, with a thin line to the end."""
    blocks = [
        (wrap(f"{100 * values[-1]:.0f} %  {title}", LABEL_WIDTH - 26.0, 10.0), _y(float(values[-1])), style)
        for title, values, style in sorted(series, key=lambda item: -float(item[1][-1]))
    ]
    tops: list[float] = []
    low = TOP - 4.0
    for lines, y, _ in blocks:
        low = max(low, y - 6.0)
        tops.append(low)
        low += LABEL_PITCH * len(lines) + 3.0
    shift = max(0.0, low - (TOP + HEIGHT + 12.0))
    for i in range(len(tops) - 1, -1, -1):
        limit = TOP + HEIGHT + 12.0 if i == len(tops) - 1 else tops[i + 1]
        if shift:
            tops[i] = min(tops[i], limit - LABEL_PITCH * len(blocks[i][0]) - 3.0)
    shapes: list[Shape] = []
    for (lines, y, style), top in zip(blocks, tops, strict=True):
        at = top + 6.0
        shapes.append(Polyline(((right + 3.0, y), (right + 16.0, at)), style.colour, 0.9))
        shapes += _mark(right + 19.0, at, style)
        shapes += [
            Text(right + 26.0, at + 3.6 + LABEL_PITCH * i, line, 10.0, bold=style is STYLES[0])
            for i, line in enumerate(lines)
        ]
    return shapes


def _key(labels: Sequence[str], width: float) -> list[str]:
    """Return the steps by number as lines of the key."""
    lines: list[str] = []
    for number, label in enumerate(labels):
        lines += [
            line if i == 0 else f"    {line}" for i, line in enumerate(wrap(f"{number}  {label}", width - 24.0, 10.0))
        ]
    return lines
