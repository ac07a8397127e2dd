"""Left and right edges of all channels, columns and groups, once the lines in the channels are counted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from proveout.reports.schematic.channels import Routing
from proveout.reports.schematic.frames import TITLE
from proveout.reports.schematic.grid import Channel
from proveout.reports.schematic.sheet import Sheet, Touch
from proveout.reports.schematic.symbols import SIGN_SIZE
from proveout.reports.svg import Text, text_width

__all__ = ["LEAD_ZONE", "TRACK", "place", "sign_room", "signs", "zone"]

TRACK = 11.0
EDGE = 12.0
SIGN_ZONE = 24.0
LEAD_ZONE = 30.0
INNER_EDGE = 8.0
UNIT_PAD = 8.0


def place(sheet: Sheet, routings: Mapping[Channel, Routing], touches: Sequence[Touch], x: float) -> None:
    """Give every channel and group its left and right edge."""
    grid = sheet.grid
    for number in range(grid.last + 2):
        channel: Channel = ("outer", str(number), "")
        width = 0.0
        if any(grid.rows(("outer", str(n))) for n in (number - 1, number)):
            width = _channel_width(sheet, channel, routings[channel], touches)
        sheet.spans[channel] = (x, x + width)
        x += width
        if number > grid.last:
            break
        names = grid.columns[("outer", str(number))]
        widths = {name: _group_width(sheet, name, routings) for name in names}
        column = max(widths.values(), default=0.0)
        for name in names:
            sheet.slots[name] = (x, x + column)
            _place_group(sheet, name, (x, x + column), widths[name], routings)
        x += column
    sheet.width = x


def _channel_width(sheet: Sheet, channel: Channel, routing: Routing, touches: Sequence[Touch]) -> float:
    zones = sum(zone(sheet, channel, edge, touches) for edge in (0, 1))
    if not routing.runs and not signs(sheet, channel, 0) and not signs(sheet, channel, 1):
        return 0.0
    return zones + TRACK * routing.tracks


def zone(sheet: Sheet, channel: Channel, edge: int, touches: Sequence[Touch]) -> float:
    """Return the room kept free of upright lines at one edge of a channel: for leads and for ground signs [px]."""
    base = INNER_EDGE if channel[0] == "inner" else EDGE
    touched = any(touch.channel == channel and touch.edge == edge for touch in touches)
    return base + (LEAD_ZONE if touched else 0.0) + sign_room(sheet, channel, edge)


def sign_room(sheet: Sheet, channel: Channel, edge: int) -> float:
    """Return the room that ground signs and their names need at one edge of a channel [px]."""
    names = [sheet.grid.signs[net] for _, net in signs(sheet, channel, edge)]
    return max((max(SIGN_ZONE, text_width(name, SIGN_SIZE) + 4.0) for name in names), default=0.0)


def signs(sheet: Sheet, channel: Channel, edge: int) -> list[tuple[str, str]]:
    """Return cells with a ground sign at one edge of a channel, and the net of each."""
    grid = sheet.grid
    if channel[0] == "inner":
        if (channel[2] == "right") != (edge == 0):
            return []
        cells = grid.rows(("inner", channel[1]))
        return _signed(sheet, cells, channel[2])
    number = int(channel[1]) - 1 + edge
    return _signed(sheet, grid.rows(("outer", str(number))), "right" if edge == 0 else "left")


def _signed(sheet: Sheet, cells: Sequence[str], side: str) -> list[tuple[str, str]]:
    found = []
    for name in cells:
        cell = sheet.grid.cells[name]
        net = cell.right if side == "right" else cell.left
        if net in sheet.grid.signs:
            found.append((name, net))
    return found


def _inner_width(sheet: Sheet, unit: str) -> float:
    return max((sheet.frames[name].width for name in sheet.grid.columns[("inner", unit)]), default=60.0)


def _group_width(sheet: Sheet, name: str, routings: Mapping[Channel, Routing]) -> float:
    if sheet.grid.groups[name].kind != "unit":
        return sheet.frames[name].width
    return max(sum(_unit_widths(sheet, name, routings)), _title_width(sheet, name) + 12.0)


def _title_width(sheet: Sheet, name: str) -> float:
    return max((Text(0, 0, line, TITLE, bold=True).box.x1 for line in sheet.frames[name].title), default=0.0)


def _unit_widths(sheet: Sheet, name: str, routings: Mapping[Channel, Routing]) -> tuple[float, float, float]:
    sides = []
    for side in ("left", "right"):
        channel: Channel = ("inner", name, side)
        sides.append(max(UNIT_PAD, _channel_width(sheet, channel, routings[channel], ())))
    return sides[0], _inner_width(sheet, name), sides[1]


def _place_group(
    sheet: Sheet, name: str, column: tuple[float, float], width: float, routings: Mapping[Channel, Routing]
) -> None:
    if sheet.grid.groups[name].kind != "unit":
        sheet.columns[name] = column
        return
    left, inner, right = _unit_widths(sheet, name, routings)
    cells = [sheet.grid.cells[cell] for cell in sheet.grid.groups[name].cells]
    to_left = sum(bool(cell.left) for cell in cells) >= sum(bool(cell.right) for cell in cells)
    x0 = column[0] if to_left else column[1] - width
    spare = width - left - inner - right
    sheet.columns[name] = (x0, x0 + width)
    start = x0 + left
    end = start + inner + spare
    sheet.spans[("inner", name, "left")] = (x0, start)
    sheet.spans[("inner", name, "right")] = (end, x0 + width)
    for member in sheet.grid.columns[("inner", name)]:
        sheet.columns[member] = (start, end)
