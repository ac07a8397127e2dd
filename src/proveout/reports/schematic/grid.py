"""The drawing as columns of groups of rows: where every pin of every net leaves, before any coordinate is known.

Channels lie between the columns. Outer channel c lies left of column c; a unit has an inner column of its parts and up
to two inner channels between these and its ports.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from proveout.reports.schematic.entities import Entity
from proveout.reports.schematic.pieces import Piece

__all__ = ["Cell", "Channel", "Column", "Grid", "Group", "build"]

Side = Literal["left", "right"]
Column = tuple[str, str]
"""('outer', number) or ('inner', unit)."""
Channel = tuple[str, str, str]
"""('outer', number, '') or ('inner', unit, side of the unit)."""

OTHER: dict[Side, Side] = {"left": "right", "right": "left"}
# Orders of the terminals from top to bottom in which the symbol of a kind can be drawn; its mirror image counts too.
ORDERS: dict[str, tuple[tuple[str, ...], ...]] = {
    "control_input": (("rail", "pin", "ground"),),
    "clamp": (("rail", "pin", "ground"),),
    "regulator": (("feed", "output", "ground"),),
    "open_collector": (("supply", "output", "ground"),),
    "push_pull": (("supply", "output", "ground"),),
    "potentiometer": (("high", "wiper", "low"),),
    "ratiometric": (("high", "wiper", "low"),),
    "relay": (
        ("coil_a", "coil_b", "common", "normally_open"),
        ("coil_b", "coil_a", "common", "normally_open"),
        ("coil_a", "coil_b", "normally_open", "common"),
        ("coil_b", "coil_a", "normally_open", "common"),
    ),
}


@dataclass(frozen=True)
class Cell:
    """One row of a group: the nets that leave it to the left and to the right ('' for none), by which terminal."""

    name: str
    group: str
    left: str = ""
    right: str = ""
    left_terminal: str = ""
    right_terminal: str = ""


@dataclass
class Group:
    """Rows that stay together: a unit's ports, a connector, a part, or a net passing through (`dummy`)."""

    name: str
    kind: Literal["unit", "connector", "part", "dummy"]
    column: Column
    cells: list[str]
    orders: tuple[tuple[str, ...], ...] | None = None
    """Orders of the cells that can be drawn; None for any."""
    piece: Piece | None = None
    entity: Entity | None = None


@dataclass
class Grid:
    """All groups by column from top to bottom, their cells, and the pins in each channel."""

    columns: dict[Column, list[str]] = field(default_factory=lambda: defaultdict(list))
    groups: dict[str, Group] = field(default_factory=dict)
    cells: dict[str, Cell] = field(default_factory=dict)
    signs: dict[str, str] = field(default_factory=dict)
    last: int = 0

    def edges(self, column: Column) -> tuple[Channel, Channel]:
        """Return the channels at the left and the right of a column."""
        if column[0] == "inner":
            return ("inner", column[1], "left"), ("inner", column[1], "right")
        return ("outer", column[1], ""), ("outer", str(int(column[1]) + 1), "")

    def add(self, group: Group, cells: list[Cell]) -> None:
        """Put a group at the foot of its column."""
        self.groups[group.name] = group
        self.columns[group.column].append(group.name)
        self.cells.update({cell.name: cell for cell in cells})

    def pins(self, channel: Channel) -> dict[str, tuple[list[str], list[str]]]:
        """Return for each net of a channel the cells at its left edge and those at its right edge."""
        found: dict[str, tuple[list[str], list[str]]] = defaultdict(lambda: ([], []))
        for place, cells in enumerate(self._facing(channel)):
            for cell, net in cells:
                if net and net not in self.signs:
                    found[net][place].append(cell)
        return found

    def _facing(self, channel: Channel) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
        if channel[0] == "outer":
            at = int(channel[1])
            before = [self.cells[name] for name in self.rows(("outer", str(at - 1)))]
            behind = [self.cells[name] for name in self.rows(("outer", str(at)))]
            return [(c.name, c.right) for c in before], [(c.name, c.left) for c in behind]
        unit, side = channel[1], channel[2]
        inner = [self.cells[name] for name in self.rows(("inner", unit))]
        ports = [self.cells[name] for name in self.groups[unit].cells]
        if side == "right":
            return [(c.name, c.right) for c in inner], [(c.name, c.right) for c in ports]
        return [(c.name, c.left) for c in ports], [(c.name, c.left) for c in inner]

    def rows(self, column: Column) -> list[str]:
        """Return the cells of a column from top to bottom."""
        return [cell for name in self.columns.get(column, ()) for cell in self.groups[name].cells]

    def channels(self) -> list[Channel]:
        """Return all channels, outer ones from left to right, then those inside the units."""
        outer: list[Channel] = [("outer", str(number), "") for number in range(self.last + 2)]
        inner: list[Channel] = [
            ("inner", name, side)
            for name, group in self.groups.items()
            if group.kind == "unit"
            for side in ("left", "right")
        ]
        return outer + inner


def build(found: list[Entity], column: Mapping[str, int], signs: Mapping[str, str]) -> Grid:
    """Return the grid of the entities standing in `column`, in their given order."""
    grid = Grid(signs=dict(signs), last=max(column.values()))
    spans: dict[str, list[int]] = defaultdict(list)
    for entity in found:
        for net in entity.nets:
            spans[net].append(column[entity.name])
    for entity in found:
        at: Column = ("outer", str(column[entity.name]))
        if entity.kind == "connector":
            _add_connector(grid, entity, at)
        elif entity.kind == "unit":
            _add_unit(grid, entity, at, _sides(entity, column[entity.name], spans))
        else:
            sides = _sides(entity, column[entity.name], spans)
            _add_piece(grid, entity.pieces[0], entity.name, at, sides, entity)
    _add_passages(grid)
    return grid


def _sides(entity: Entity, at: int, spans: Mapping[str, list[int]]) -> dict[str, Side]:
    """Return the side on which each net leaves an entity: to where its other ends are, else the free side."""
    sides: dict[str, Side] = {}
    for net in sorted(entity.nets, key=lambda net: (not _one_way(at, spans[net]), net)):
        low, high = min(spans[net]), max(spans[net])
        if low < at <= high and high == at:
            sides[net] = "left"
        elif low == at < high:
            sides[net] = "right"
        else:
            sides[net] = "right" if at == 0 else _free_side(entity, list(sides.values()))
    return sides


def _free_side(entity: Entity, taken: list[Side]) -> Side:
    """Return the side for a net whose other ends lie on both sides: a part's other end, a unit's usual edge."""
    lefts = taken.count("left")
    if entity.kind == "unit":
        return "right" if lefts < len(taken) - lefts else "left"
    return "right" if lefts > len(taken) - lefts else "left"


def _one_way(at: int, span: list[int]) -> bool:
    return (min(span) < at) != (max(span) > at)


def _add_connector(grid: Grid, entity: Entity, at: Column) -> None:
    cells = []
    for piece in entity.pieces:
        (first, a), (second, b) = piece.nets.items()
        forward = a in entity.near and (b not in entity.near or a not in entity.far)
        left, right = ((first, a), (second, b)) if forward else ((second, b), (first, a))
        cells.append(Cell(f"{entity.name}|{piece.name}", entity.name, left[1], right[1], left[0], right[0]))
    grid.add(Group(entity.name, "connector", at, [c.name for c in cells], entity=entity), cells)


def _add_unit(grid: Grid, entity: Entity, at: Column, sides: Mapping[str, Side]) -> None:
    inner = _edges(entity, sides)
    ports = [
        Cell(f"{entity.name}|{net}", entity.name, **{inner[net]: net})
        for net in _in_order(entity)
        if net in entity.nets
    ]
    grid.add(Group(entity.name, "unit", at, [c.name for c in ports], entity=entity), ports)
    for piece in entity.pieces:
        own = {net: inner[net] for net in piece.nets.values()}
        _add_piece(grid, piece, f"{entity.name}/{piece.name}", ("inner", entity.name), own, None)


def _edges(entity: Entity, sides: Mapping[str, Side]) -> dict[str, Side]:
    """Return the side on which each net of a unit runs: all nets of a symbol that hangs on one spine on one side."""
    usual = _more(list(sides.values()))
    bundles: list[set[str]] = [{net} for net in _in_order(entity)]
    for piece in entity.pieces:
        if len(piece.nets) > 2 and piece.kind != "relay":
            touched = [bundle for bundle in bundles if bundle & set(piece.nets.values())]
            bundles = [bundle for bundle in bundles if bundle not in touched] + [set().union(*touched)]
    found: dict[str, Side] = {}
    for bundle in bundles:
        ported = [sides[net] for net in sorted(bundle) if net in sides]
        found |= dict.fromkeys(bundle, _more(ported) if ported else usual)
    return found


def _more(sides: list[Side]) -> Side:
    return "right" if not sides or sides.count("right") > sides.count("left") else "left"


def _in_order(entity: Entity) -> list[str]:
    return list(dict.fromkeys(net for piece in entity.pieces for net in piece.nets.values()))


def _add_piece(
    grid: Grid, piece: Piece, name: str, at: Column, sides: Mapping[str, Side], entity: Entity | None
) -> None:
    placed = dict(sides)
    known = [side for net, side in sides.items() if net not in grid.signs]
    if len(piece.nets) == 2:
        (first, a), (second, b) = piece.nets.items()
        left, right = ((first, a), (second, b)) if _leaves(a, b, grid, placed, at) else ((second, b), (first, a))
        if at[0] == "outer" and (left[1] in grid.signs or right[1] in grid.signs):
            placed |= {left[1]: "left", right[1]: "right"}
        if placed[a] != placed[b]:
            cell = Cell(f"{name}|row", name, left[1], right[1], left[0], right[0])
            grid.add(Group(name, "part", at, [cell.name], None, piece, entity), [cell])
            return
    usual: Side = known[0] if known else "right"
    if known.count("left") > known.count("right"):
        usual = "left"
    if piece.kind != "relay" and at[0] == "outer":
        placed = dict.fromkeys(piece.nets.values(), usual)
    cells = {
        terminal: Cell(
            f"{name}|{terminal}",
            name,
            **{placed.get(net, usual): net, f"{placed.get(net, usual)}_terminal": terminal},
        )
        for terminal, net in piece.nets.items()
    }
    orders = tuple(
        tuple(cells[terminal].name for terminal in order)
        for known_order in ORDERS.get(piece.kind, (tuple(piece.nets),))
        for order in (known_order, tuple(reversed(known_order)))
    )
    grid.add(Group(name, "part", at, list(orders[0]), orders, piece, entity), [cells[t] for t in cells])


def _leaves(a: str, b: str, grid: Grid, sides: Mapping[str, Side], at: Column) -> bool:
    """Whether the first net of a two-terminal part leaves to the left; a ground sign takes the side that is free."""
    if a in grid.signs and b in grid.signs:
        return True
    if a in grid.signs:
        return sides[b] == "right"
    if b in grid.signs:
        return sides[a] == "left"
    return sides[a] == "left"


def _add_passages(grid: Grid) -> None:
    """Let a net that reaches over columns pass through each of them in a row of its own."""
    reach: dict[str, list[int]] = defaultdict(list)
    for number in range(grid.last + 2):
        for net in grid.pins(("outer", str(number), "")):
            reach[net].append(number)
    for net, numbers in reach.items():
        for number in range(min(numbers), max(numbers)):
            name = f"pass {net} {number}"
            cell = Cell(f"{name}|row", name, net, net)
            grid.add(Group(name, "dummy", ("outer", str(number)), [cell.name]), [cell])
