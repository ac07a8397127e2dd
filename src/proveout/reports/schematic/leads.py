"""The meter and its two leads, laid over the drawing so that they cross neither symbols nor words."""

from __future__ import annotations

from dataclasses import dataclass

from proveout.circuits.schema import Circuit, Point
from proveout.reports.schematic.grid import Channel, Grid
from proveout.reports.schematic.placing import LEAD_ZONE
from proveout.reports.schematic.sheet import Sheet, Touch
from proveout.reports.svg import Circle, Polyline, Shape, Text

__all__ = ["Hold", "draw_leads", "touch_part", "touch_point"]

RED, BLACK = "#c1121f", "#111111"
BADGE = 6.5
METER_RADIUS = 20.0


@dataclass(frozen=True)
class Hold:
    """One lead: its letter, colour, what it is put on, and the pin if the drawing has it."""

    letter: str
    colour: str
    words: str
    touch: Touch | None
    clamp: bool = False


def touch_point(grid: Grid, circuit: Circuit, point: Point) -> Touch | None:
    """Return the pin on which a lead is put for a point: at the connector it names, else where the node is nearest."""

    def rank(touch: Touch) -> tuple[bool, bool, bool, bool]:
        group = grid.groups[grid.cells[touch.cell].group]
        plug = group.name.removeprefix("connector ")
        battery = group.piece is not None and group.piece.kind == "battery"
        wire = group.piece is not None and group.piece.kind == "wire"
        return plug != point.connector or not point.connector, not battery, group.kind != "connector", wire

    return min(_pins(grid, point.node), key=rank, default=None)


def touch_part(grid: Grid, part: str, terminal: int) -> Touch | None:
    """Return the pin of a part's first (0) or second (1) terminal."""
    for cell in grid.cells.values():
        group = grid.groups[cell.group]
        piece = group.piece
        if group.kind == "connector" and cell.name.split("|")[1] == part and group.entity is not None:
            piece = next(p for p in group.entity.pieces if p.name == part)
        if piece is None or piece.name != part or group.column[0] == "inner":
            continue
        wanted = list(piece.nets)[terminal]
        if cell.left_terminal == wanted:
            return Touch(grid.edges(group.column)[0], 1, cell.name)
        if cell.right_terminal == wanted:
            return Touch(grid.edges(group.column)[1], 0, cell.name)
    return None


def _pins(grid: Grid, net: str) -> list[Touch]:
    found = []
    for number in range(grid.last + 2):
        channel: Channel = ("outer", str(number), "")
        for edge, column in ((0, number - 1), (1, number)):
            for name in grid.rows(("outer", str(column))):
                cell = grid.cells[name]
                if grid.groups[cell.group].kind != "dummy" and net == (cell.right if edge == 0 else cell.left):
                    found.append(Touch(channel, edge, name))
    return found


def draw_leads(sheet: Sheet, holds: list[Hold], sign: str, corner: float) -> list[Shape]:
    """Return the leads and the meter (`sign` in its circle) below the drawing; `corner` is its left edge [px]."""
    meter_y = sheet.bottom + 62.0 + METER_RADIUS
    middle = corner + METER_RADIUS + 8.0
    shapes: list[Shape] = []
    badges: list[Shape] = []
    for i, hold in enumerate(holds):
        if hold.touch is None:
            continue
        x = _lead_x(sheet, hold.touch, i)
        y = sheet.y[hold.touch.cell]
        bus = sheet.bottom + (30.0 if i == 0 else 18.0)
        socket = middle + (8.0 if i == 0 else -8.0)
        line = ((x, y), (x, bus), (socket, bus), (socket, meter_y - METER_RADIUS + 3.0))
        shapes += [
            Polyline(line, "#fff", 6.0, role="lead-edge"),
            Polyline(line, hold.colour, 2.6, dash="" if i == 0 else "9 3", role="lead"),
        ]
        badges += _badge(x, y, hold)
    shapes += [
        *badges,
        Circle(middle, meter_y, METER_RADIUS, "#fff", "#111", 2.0),
        Text(middle, meter_y + 6.0, sign, 17.0 if len(sign) < 3 else 12.0, "middle", True),
    ]
    return shapes


def _lead_x(sheet: Sheet, touch: Touch, number: int) -> float:
    x0, x1 = sheet.spans[touch.channel]
    inward = 9.0 + 15.0 * number
    return x0 + inward if touch.edge == 0 else x1 - inward


def _badge(x: float, y: float, hold: Hold) -> list[Shape]:
    if hold.clamp:
        return [Circle(x, y, 9.0, "none", "#fff", 6.0), Circle(x, y, 9.0, "none", hold.colour, 3.0)]
    return [
        Circle(x, y, BADGE, "#fff", hold.colour, 2.0),
        Text(x, y + 3.3, hold.letter, 9.0, "middle", True, hold.colour),
    ]


if LEAD_ZONE < 9.0 + 15.0 + BADGE - 1.0:
    raise ValueError("the zone for leads in a channel is narrower than two leads; this is a mistake in the drawing")
