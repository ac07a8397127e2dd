"""A toothed wheel as a polar picture, one ray a tooth; and a signal over one turn, now and before."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.by_angle import OverTurn
from proveout.captures.findings import WheelPicture
from proveout.reports.svg import Circle, Picture, Polygon, Polyline, Shape, Text, to_svg
from proveout.reports.trace_figure import Trace, traces_picture

__all__ = ["draw_turn", "draw_wheel", "wheel_picture"]

SIZE, MIDDLE, INNER, OUTER = 420.0, 210.0, 70.0, 165.0
RAY, LOST = "#0b5c6b", "#8c1620"
NUMBERED = 12


def draw_wheel(wheel: WheelPicture) -> str:
    """Return the picture as SVG text; see `wheel_picture`."""
    return to_svg(wheel_picture(wheel))


def wheel_picture(wheel: WheelPicture) -> Picture:
    """Return a wheel as shapes: angle 0 (behind the gap, where there is one) at the top, turning to the right.

    A ray is as long as its tooth's signal is strong, where that was told. A tooth that was lost has a broken ray with a
    ring and how often beside it.
    """
    strongest = max(wheel.amplitude, default=0.0)
    rim = [_at(turn / 72.0, OUTER) for turn in range(72)]
    shapes: list[Shape] = [
        Polygon(tuple(rim), "#fff", "#bbb", 0.8),
        Circle(MIDDLE, MIDDLE, INNER, "#f2f2ee", "#999", 1.0),
        Text(MIDDLE, MIDDLE + 4.0, wheel.name or f"{len(wheel.angles)}", 15.0, "middle", bold=True),
        *_degrees(),
    ]
    for k, angle in enumerate(wheel.angles):
        share = wheel.amplitude[k] / strongest if k < len(wheel.amplitude) and strongest > 0 else 1.0
        lost = wheel.lost[k] if k < len(wheel.lost) else 0
        shapes += _ray(angle, share, lost)
    missed = sum(wheel.lost)
    about = f"{wheel.channel}, {wheel.name}: {len(wheel.angles)} teeth, {missed} times one was lost"
    return Picture(SIZE, SIZE, f"{wheel.channel}: {wheel.name}", about, tuple(shapes))


def _at(turn: float, radius: float) -> tuple[float, float]:
    angle = 2.0 * math.pi * turn
    return MIDDLE + radius * math.sin(angle), MIDDLE - radius * math.cos(angle)


def _degrees() -> list[Shape]:
    shapes: list[Shape] = []
    for k in range(NUMBERED):
        turn = k / NUMBERED
        shapes.append(Polyline((_at(turn, OUTER), _at(turn, OUTER + 6.0)), "#555", 1.0))
        x, y = _at(turn, OUTER + 20.0)
        shapes.append(Text(x, y + 3.5, f"{360 * k // NUMBERED}°", 9.5, "middle", colour="#444"))
    return shapes


def _ray(turn: float, share: float, lost: int) -> list[Shape]:
    tip = INNER + (OUTER - INNER) * min(max(share, 0.05), 1.0)
    line = (_at(turn, INNER), _at(turn, tip))
    if not lost:
        return [Polyline(line, RAY, 3.0, role="tooth")]
    x, y = _at(turn, OUTER - 8.0)
    label = _at(turn, OUTER - 26.0)
    return [
        Polyline(line, LOST, 3.0, "4 3", role="lost tooth"),
        Circle(x, y, 5.5, "#fff", LOST, 2.0),
        Text(label[0], label[1] + 3.5, f"{lost}×", 9.5, "middle", bold=True, colour=LOST, backed=True),
    ]


def draw_turn(channel: str, unit: str, now: OverTurn, before: OverTurn) -> str:
    """Return both signals over one turn of their wheel as SVG text, in degrees; the one before is drawn broken."""
    trace = Trace(channel, unit, _band(now), _band(before))
    return to_svg(traces_picture([trace], 0.0, 360.0, title=f"{channel} over one turn", across="°"))


def _band(over: OverTurn) -> NDArray[np.float64]:
    return np.stack([over.middle, over.middle], axis=1)
