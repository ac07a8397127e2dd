"""Two paths on one clock: how probable the true suspect was after each step, own and planner's."""

from __future__ import annotations

import math
from collections.abc import Mapping

from proveout.practice.ending import Ending, Path
from proveout.reports.svg import Circle, Picture, Polygon, Polyline, Shape, Text, to_svg

__all__ = ["WORDS", "draw_paths", "paths_picture"]

LEFT, RIGHT, TOP, WIDTH, HEIGHT = 52.0, 28.0, 46.0, 640.0, 200.0
OWN, PLANNER = ("#0072b2", 2.8, ""), ("#d55e00", 2.2, "9 4")
TICKS = 8
WORDS: Mapping[str, str] = {
    "title": "Both paths on one clock",
    "chance": "Probability of the true cause",
    "minutes": "minutes",
    "own": "you",
    "planner": "planner",
}
"""What is written on the drawing; a face may give the same keys in another language."""


def draw_paths(ending: Ending, words: Mapping[str, str] = WORDS) -> str:
    """Return the drawing as SVG text; own steps are discs on a full line, the planner's squares on a broken one."""
    return to_svg(paths_picture(ending, words))


def paths_picture(ending: Ending, words: Mapping[str, str] = WORDS) -> Picture:
    """Return the drawing as shapes; arguments as in `draw_paths`."""
    longest = max(ending.own.minutes, ending.planner.minutes, 1.0)
    step = _tick(longest)
    most = step * math.ceil(longest / step)
    shapes: list[Shape] = [*_axes(most, step, words)]
    for path, style in ((ending.planner, PLANNER), (ending.own, OWN)):
        shapes += _line(path, most, style)
    shapes += _key(words)
    about = (
        f"{words['own']}: {ending.own.minutes:.0f} {words['minutes']}; "
        f"{words['planner']}: {ending.planner.minutes:.0f} {words['minutes']}"
    )
    return Picture(LEFT + WIDTH + RIGHT, TOP + HEIGHT + 40.0, words["title"], about, tuple(shapes))


def _tick(longest: float) -> float:
    """Return a round number of minutes, at most `TICKS` of which cover the longest path."""
    return next(step for step in (1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 600.0, 6e5) if longest / step <= TICKS)


def _x(minutes: float, most: float) -> float:
    return LEFT + WIDTH * minutes / most


def _y(chance: float) -> float:
    return TOP + HEIGHT * (1.0 - chance)


def _axes(most: float, step: float, words: Mapping[str, str]) -> list[Shape]:
    shapes: list[Shape] = [Text(LEFT - 40.0, TOP - 26.0, words["chance"], 11.0, bold=True)]
    for percent in (0, 25, 50, 75, 100):
        y = _y(percent / 100)
        shapes.append(Polyline(((LEFT, y), (LEFT + WIDTH, y)), "#bbb" if percent else "#111", 0.8 if percent else 1.3))
        shapes.append(Text(LEFT - 6.0, y + 3.6, f"{percent} %", 10.0, "end"))
    for k in range(round(most / step) + 1):
        x = _x(k * step, most)
        shapes.append(Polyline(((x, _y(0.0)), (x, _y(0.0) + 4.0))))
        shapes.append(Text(x, _y(0.0) + 16.0, f"{k * step:g}", 10.0, "middle"))
    return [*shapes, Text(LEFT + WIDTH, _y(0.0) + 30.0, words["minutes"], 10.0, "end")]


def _line(path: Path, most: float, style: tuple[str, float, str]) -> list[Shape]:
    """Return a path as a staircase with a mark for each step."""
    colour, width, dash = style
    stairs = tuple(_stairs(path, most))
    shapes: list[Shape] = [Polyline(stairs, colour, width, dash, role="path")] if path.legs else []
    marks = (_mark(_x(leg.until, most), _y(leg.chance), colour, square=bool(dash)) for leg in path.legs)
    return [*shapes, *marks]


def _stairs(path: Path, most: float) -> list[tuple[float, float]]:
    points = [(_x(0.0, most), _y(path.start))]
    for leg in path.legs:
        x = _x(leg.until, most)
        points += [(x, points[-1][1]), (x, _y(leg.chance))]
    return points


def _mark(x: float, y: float, colour: str, *, square: bool) -> Shape:
    if square:
        return Polygon(((x - 3.2, y - 3.2), (x + 3.2, y - 3.2), (x + 3.2, y + 3.2), (x - 3.2, y + 3.2)), "#fff", colour)
    return Circle(x, y, 3.6, colour, colour, 1.0)


def _key(words: Mapping[str, str]) -> list[Shape]:
    shapes: list[Shape] = []
    for k, (name, (colour, width, dash)) in enumerate((("own", OWN), ("planner", PLANNER))):
        x, y = LEFT + 300.0 + 170.0 * k, TOP - 30.0
        shapes += [
            Polyline(((x, y), (x + 34.0, y)), colour, width, dash),
            _mark(x + 17.0, y, colour, square=bool(dash)),
            Text(x + 42.0, y + 3.6, words[name], 11.0, bold=True),
        ]
    return shapes
