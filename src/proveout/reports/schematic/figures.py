"""Units, connectors, wires and parts, drawn where they stand."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.reports.schematic.colours import striped
from proveout.reports.schematic.fluid_symbols import BLOCK_HALF, block
from proveout.reports.schematic.frames import ASIDE, CONNECTOR_HALF, GAP, LINE, SIZE, SPINE, TITLE, Frame, quantity
from proveout.reports.schematic.grid import Group
from proveout.reports.schematic.heights import span
from proveout.reports.schematic.sheet import Sheet
from proveout.reports.schematic.symbols import HALF, MULTI, Pen, two, upright
from proveout.reports.svg import Box, Circle, Polygon, Polyline, Shape, Text

__all__ = ["draw_group"]

FAULT = "#b3001b"


def draw_group(sheet: Sheet, name: str, group: Group) -> None:
    """Draw one group with its words and, at the part at fault, the mark."""
    if group.kind == "dummy":
        x0, x1 = sheet.columns[name]
        cell = group.cells[0]
        sheet.wire(sheet.grid.cells[cell].left, ((x0, sheet.y[cell]), (x1, sheet.y[cell])))
    elif group.kind == "connector":
        _draw_connector(sheet, name, group)
    elif group.kind == "unit":
        _draw_unit(sheet, name)
    elif group.piece is not None and group.piece.kind == "wire" and len(group.cells) == 1:
        _draw_harness_wire(sheet, name, group)
    elif len(group.cells) == 1:
        _draw_lying(sheet, name, group)
    else:
        _draw_upright(sheet, name, group)


def _draw_connector(sheet: Sheet, name: str, group: Group) -> None:
    frame = sheet.frames[name]
    x0, x1 = sheet.columns[name]
    middle = (x0 + x1) / 2
    plug = name.removeprefix("connector ")
    half_gap = GAP / 2 if plug in sheet.marks.unplugged else 0.0
    ys = [sheet.y[cell] for cell in group.cells]
    top, bottom = min(ys) - 11.0, max(ys) + 11.0
    halves = (
        (middle - half_gap - CONNECTOR_HALF, middle - half_gap),
        (middle + half_gap, middle + half_gap + CONNECTOR_HALF),
    )
    for left, right in halves:
        sheet.symbols.append(
            Polygon(((left, top), (right, top), (right, bottom), (left, bottom)), "#f4f4f1", radius=3.0)
        )
    for cell, y in zip(group.cells, ys, strict=True):
        row = sheet.grid.cells[cell]
        part = sheet.circuit.parts[cell.split("|")[1]]
        sheet.wire(row.left, ((x0, y), (halves[0][0], y)))
        sheet.wire(row.right, ((halves[1][1], y), (x1, y)))
        for left, right in halves:
            sheet.texts.append(Text((left + right) / 2, y + 4.2, part.cavity, SIZE, "middle"))
        sheet.places[cell.split("|")[1]] = Box(halves[0][0], y - 10.0, halves[1][1], y + 10.0)
        if sheet.marks.fault == cell.split("|")[1]:
            _mark(sheet, middle, y, 9.0)
            sheet.texts.append(Text(middle, y - 14.0, frame.tag, SIZE, "middle", True, FAULT))
    for i, line in enumerate(reversed(frame.title)):
        bold = i == len(frame.title) - 1
        lift = sheet.frames[name].above - 12.0
        at = top - lift - 5.0 - LINE * i
        sheet.texts.append(Text(middle, at, line, SIZE, "middle", bold or line == "unplugged"))


def _unit_box(sheet: Sheet, name: str) -> Box:
    top, bottom = span(sheet.grid, sheet.frames, sheet.y, name)
    x0, x1 = sheet.columns[name]
    return Box(x0, top, x1, bottom)


def _draw_unit(sheet: Sheet, name: str) -> None:
    box = _unit_box(sheet, name)
    sheet.wires.insert(
        0,
        Polygon(
            ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)), "#fbfbf8", width=1.8, radius=4.0
        ),
    )
    for i, line in enumerate(sheet.frames[name].title):
        sheet.texts.append(Text(box.x0 + 6.0, box.y0 + 15.0 + LINE * i, line, TITLE, bold=True))
    for cell in sheet.grid.groups[name].cells:
        row, y, slot = sheet.grid.cells[cell], sheet.y[cell], sheet.slots[name]
        x = box.x0 if row.left else box.x1
        sheet.wire(row.left or row.right, ((slot[0], y), (x, y)) if row.left else ((x, y), (slot[1], y)))
        sheet.symbols.append(Circle(x, y, 2.4, "#fff"))


def _draw_harness_wire(sheet: Sheet, name: str, group: Group) -> None:
    frame, piece = sheet.frames[name], group.piece
    if piece is None:
        return
    x0, x1 = sheet.columns[name]
    middle, y = (x0 + x1) / 2, sheet.y[group.cells[0]]
    part = sheet.circuit.parts[piece.name]
    sheet.wires += striped([((x0, y), (x1, y))], part.colour)
    lift = 5.0 if frame.tag else 0.0
    sheet.texts.append(Text(middle, y - 7.0 - lift, frame.code, SIZE, "middle", True))
    for i, label in enumerate(frame.labels):
        sheet.texts.append(Text(middle, y + 16.0 + lift + LINE * i, label, SIZE, "middle", colour="#444"))
    sheet.places[piece.name] = Box(x0, y - 3.0, x1, y + 3.0)
    if frame.tag:
        _mark(sheet, middle, y, 9.0)
        sheet.texts.append(Text(middle, y - 9.0 - lift - LINE, frame.tag, SIZE, "middle", True, FAULT))


def _draw_lying(sheet: Sheet, name: str, group: Group) -> None:
    frame, piece = sheet.frames[name], group.piece
    if piece is None:
        return
    x0, x1 = sheet.columns[name]
    middle, y = (x0 + x1) / 2, sheet.y[group.cells[0]]
    cell = sheet.grid.cells[group.cells[0]]
    first = next(iter(piece.nets))
    across = (1.0, 0.0) if cell.left_terminal == first else (-1.0, 0.0)
    pen = Pen(middle, y, across, dash=_dash(sheet, piece.name), closed=piece.name in sheet.closed)
    _symbol(sheet, two(piece.kind)(pen))
    sheet.wire(cell.left, ((x0, y), (middle - HALF, y)))
    sheet.wire(cell.right, ((middle + HALF, y), (x1, y)))
    lines = [frame.tag, *frame.labels] if frame.tag else list(frame.labels)
    lift = 4.0 if frame.tag else 0.0
    for i, line in enumerate(reversed(lines)):
        at = y - 14.0 - lift - LINE * i
        sheet.texts.append(_line(middle, at, line, "middle", frame.tag))
    sheet.places[piece.name] = Box(middle - HALF, y - 10.0, middle + HALF, y + 10.0)
    if frame.tag:
        _mark(sheet, middle, y, 12.0)


def _draw_upright(sheet: Sheet, name: str, group: Group) -> None:
    frame, piece = sheet.frames[name], group.piece
    if piece is None:
        return
    x0, x1 = sheet.columns[name]
    cells = {(c.left_terminal or c.right_terminal): c for c in (sheet.grid.cells[cell] for cell in group.cells)}
    rows = {terminal: sheet.y[cell.name] for terminal, cell in cells.items()}
    to_left = all(cell.left for cell in cells.values())
    spine = x0 + SPINE if to_left and frame.aside else x1 - SPINE if frame.aside else (x0 + x1) / 2
    out = -1.0 if to_left else 1.0
    word = "pull" if piece.kind == "control_input" and _pulled(sheet, piece.name) else ""
    pen = Pen(spine, 0.0, (out, 0.0), dash=_dash(sheet, piece.name), closed=piece.name in sheet.closed, word=word)
    plain = group.column[0] == "inner"
    boxed = len(rows) > 2 and MULTI.get(piece.kind, block) is block and piece.kind != "wire"
    reach = 18.0 if piece.kind == "regulator" else BLOCK_HALF if boxed else 0.0
    for terminal, cell in cells.items():
        y = rows[terminal]
        edge = x0 if cell.left else x1
        inset = 5.0 if terminal == "wiper" else reach
        end = spine + (inset if edge > spine else -inset)
        sheet.wire(cell.left or cell.right, ((edge, y), (end, y)), plain=plain)
    if piece.kind in MULTI or boxed:
        _symbol(sheet, MULTI.get(piece.kind, block)(pen, rows))
    elif piece.kind == "wire":
        first, second = rows.values()
        sheet.wires += striped([((spine, first), (spine, second))], sheet.circuit.parts[piece.name].colour)
    else:
        first, second = rows.values()
        _symbol(sheet, upright(pen, first, second, piece.kind))
    low, high = min(rows.values()), max(rows.values())
    sheet.places[piece.name] = Box(spine - 12.0, low, spine + 12.0, high)
    _label_upright(sheet, frame, spine, (low, high), out)
    if frame.tag:
        _mark(sheet, spine, (low + high) / 2, 12.0)


def _label_upright(sheet: Sheet, frame: Frame, spine: float, rows: tuple[float, float], out: float) -> None:
    lines = [frame.tag, *frame.labels] if frame.tag else list(frame.labels)
    if frame.aside:
        at = (rows[0] + rows[1]) / 2 - LINE * (len(lines) - 1) / 2 + 4.2
        x = spine - ASIDE * out
        for i, line in enumerate(lines):
            sheet.texts.append(_line(x, at + LINE * i, line, "end" if out > 0 else "start", frame.tag))
        return
    for i, line in enumerate(reversed(lines)):
        sheet.texts.append(_line(spine, rows[0] - 16.0 - LINE * i, line, "middle", frame.tag))


def _line(x: float, y: float, line: str, anchor: str, tag: str) -> Text:
    marked = bool(tag) and line == tag
    if anchor == "middle":
        return Text(x, y, line, SIZE, "middle", marked, FAULT if marked else "#111")
    return Text(x, y, line, SIZE, "end" if anchor == "end" else "start", marked, FAULT if marked else "#111")


def _pulled(sheet: Sheet, name: str) -> bool:
    return quantity(sheet.circuit.parts[name], "pull_up") < float("inf")


def _dash(sheet: Sheet, name: str) -> str:
    return "4 3" if name in sheet.marks.removed else ""


def _symbol(sheet: Sheet, shapes: Sequence[Shape]) -> None:
    sheet.symbols += shapes


def _mark(sheet: Sheet, x: float, y: float, radius: float) -> None:
    """Mark a fault: a ring and a cross, plain also without colour."""
    arm = 0.62 * radius
    sheet.symbols.append(Circle(x, y, radius, "none", "#fff", 5.0))
    sheet.symbols.append(Circle(x, y, radius, "none", FAULT, 2.0))
    for way in (1.0, -1.0):
        ends = ((x - arm, y - arm * way), (x + arm, y + arm * way))
        sheet.symbols.append(Polyline(ends, "#fff", 5.5, cap="round"))
        sheet.symbols.append(Polyline(ends, FAULT, 2.8, cap="round"))
