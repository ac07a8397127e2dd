"""The pen with which the symbols of the schematic are drawn.

A two-terminal symbol lies along the axis from (-20, 0) to (20, 0), first terminal at the left.
"""

from __future__ import annotations

from dataclasses import dataclass

from proveout.reports.svg import Circle, Polygon, Polyline, Shape, Text

__all__ = ["HALF", "Pen", "Point", "ends", "rectangle"]

HALF = 20.0
Point = tuple[float, float]


@dataclass(frozen=True)
class Pen:
    """Where and how a symbol is drawn: middle, direction of its axis, dashes, state of a contact, words in it."""

    x: float
    y: float
    across: Point = (1.0, 0.0)
    scale: float = 1.0
    dash: str = ""
    closed: bool = False
    word: str = ""

    def at(self, u: float, v: float) -> Point:
        """Return the place `u` along the axis and `v` to its right-hand side."""
        a, b = self.across
        return self.x + self.scale * (u * a - v * b), self.y + self.scale * (u * b + v * a)

    def line(self, *points: Point, width: float = 1.3) -> Polyline:
        """Return a line through local points."""
        return Polyline(tuple(self.at(u, v) for u, v in points), width=width, dash=self.dash)

    def shape(self, *points: Point, fill: str = "#fff") -> Polygon:
        """Return a closed shape through local points."""
        return Polygon(tuple(self.at(u, v) for u, v in points), fill=fill, dash=self.dash)

    def circle(self, u: float, v: float, radius: float, fill: str = "#fff") -> Circle:
        """Return a circle about a local point."""
        x, y = self.at(u, v)
        return Circle(x, y, self.scale * radius, fill=fill, dash=self.dash)

    def text(self, u: float, v: float, word: str, size: float = 9.0) -> Text:
        """Return upright text centred on a local point."""
        x, y = self.at(u, v)
        return Text(x, y + 0.36 * size, word, size, "middle")


def rectangle(pen: Pen, half: float, height: float, fill: str = "#fff") -> Polygon:
    """Return a box about the middle."""
    return pen.shape((-half, -height), (half, -height), (half, height), (-half, height), fill=fill)


def ends(pen: Pen, half: float) -> list[Shape]:
    """Return the lines from both terminals to a body that reaches `half` to either side."""
    return [pen.line((-HALF, 0), (-half, 0)), pen.line((half, 0), (HALF, 0))]
