"""Graphical symbols of pneumatic, hydraulic and thermal elements, after ISO 1219-1 where it has one (from memory)."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from proveout.reports.schematic.pen import Pen, ends, rectangle
from proveout.reports.svg import Polygon, Polyline, Shape, Text

__all__ = ["BLOCK_HALF", "FLUID_MULTI", "FLUID_TWO", "block", "plain"]

Rows = Mapping[str, float]
FILLED = "#111"
BLOCK_HALF = 9.0


def plain(pen: Pen) -> list[Shape]:
    """Draw a box: a kind without a symbol of its own."""
    return [*ends(pen, 13), rectangle(pen, 13, 7)]


def block(pen: Pen, rows: Rows) -> list[Shape]:
    """Draw a box along the spine with the names of its terminals: a kind with more than two and no symbol."""
    low, high = min(rows.values()), max(rows.values())
    left, right = pen.x - BLOCK_HALF, pen.x + BLOCK_HALF
    corners = ((left, low - 9), (right, low - 9), (right, high + 9), (left, high + 9))
    words: list[Shape] = [Text(pen.x, y + 3.2, terminal[0].upper(), 9.0, "middle") for terminal, y in rows.items()]
    return [Polygon(corners, "#fff", dash=pen.dash), *words]


def _restriction(pen: Pen) -> list[Shape]:
    upper, lower = [(-9.0, -8.0), (0.0, -3.0), (9.0, -8.0)], [(-9.0, 8.0), (0.0, 3.0), (9.0, 8.0)]
    return [pen.line((-20, 0), (20, 0)), pen.line(*upper), pen.line(*lower)]


def _hose(pen: Pen) -> list[Shape]:
    return [pen.line((-20, 0), (-13, 0), (-8, 5), (-3, 5), (3, -5), (8, -5), (13, 0), (20, 0), width=2.2)]


def _seal(pen: Pen) -> list[Shape]:
    return [*ends(pen, 3), pen.line((-3, -9), (-3, 9)), pen.line((3, -9), (3, 9)), pen.line((-3, 6), (3, -6))]


def _check(pen: Pen) -> list[Shape]:
    return [*ends(pen, 8), pen.circle(-1, 0, 4.2), pen.line((-2, -8), (6, 0), (-2, 8))]


def _vessel(pen: Pen) -> list[Shape]:
    return [*ends(pen, 13), pen.shape((-13, 0), (-9, -8), (9, -8), (13, 0), (9, 8), (-9, 8))]


def _accumulator(pen: Pen) -> list[Shape]:
    return [*_vessel(pen), pen.line((0, -8), (0, 8)), pen.shape((4, -3), (4, 3), (9, 0))]


def _manifold(pen: Pen) -> list[Shape]:
    return [*ends(pen, 10), pen.circle(0, 0, 10), pen.text(0, 0, "E", 11)]


def _pump(pen: Pen) -> list[Shape]:
    return [*ends(pen, 10), pen.circle(0, 0, 10), pen.shape((-9, 0), (-3, -5), (-3, 5), fill=FILLED)]


def _valve(pen: Pen, rows: Rows) -> list[Shape]:
    """A valve that joins its chamber to one of two ports: two boxes on the spine, an arrow in each."""
    shapes: list[Shape] = []
    chamber = rows["chamber"]
    for port in ("rest", "apply"):
        middle = (chamber + rows[port]) / 2
        half = min(9.0, abs(rows[port] - chamber) / 2 - 3)
        box = (
            (pen.x - 8, middle - half),
            (pen.x + 8, middle - half),
            (pen.x + 8, middle + half),
            (pen.x - 8, middle + half),
        )
        shapes += [
            Polyline(((pen.x, chamber), (pen.x, rows[port])), dash=pen.dash),
            Polygon(box, "#fff", dash=pen.dash),
            Polyline(((pen.x - 4, middle + half - 2), (pen.x + 4, middle - half + 2)), dash=pen.dash),
        ]
    return shapes


FLUID_TWO: dict[str, Callable[[Pen], list[Shape]]] = {
    "accumulator": _accumulator,
    "check_valve": _check,
    "hose": _hose,
    "hydraulic_pump": _pump,
    "liquid_check_valve": _check,
    "liquid_seal": _seal,
    "liquid_vessel": _vessel,
    "manifold": _manifold,
    "pressure_line": _hose,
    "restriction": _restriction,
    "seal": _seal,
    "vessel": _vessel,
}

FLUID_MULTI: dict[str, Callable[[Pen, Rows], list[Shape]]] = {
    "control_valve": _valve,
    "hydraulic_booster_output": block,
    "spool_valve": _valve,
    "vacuum_booster_output": block,
    "vacuum_pump": block,
}
