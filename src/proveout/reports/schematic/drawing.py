"""The drawing of an ordered grid, and how untidy it would be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from proveout.circuits.schema import Circuit
from proveout.reports.schematic.channels import Run, route
from proveout.reports.schematic.figures import draw_group
from proveout.reports.schematic.frames import Frame, Marks, frames
from proveout.reports.schematic.grid import Channel, Grid
from proveout.reports.schematic.heights import heights, span
from proveout.reports.schematic.lines import draw_channel
from proveout.reports.schematic.placing import place
from proveout.reports.schematic.sheet import Sheet, Touch

__all__ = ["draw", "untidiness"]

CROSSED = 40.0


def draw(
    grid: Grid,
    circuit: Circuit,
    marks: Marks,
    closed: frozenset[str],
    touches: Sequence[Touch],
    corner: tuple[float, float],
) -> Sheet:
    """Return the sheet of an ordered grid; `closed` names the switches that are closed, `corner` is its top left."""
    framed = frames(grid, circuit, marks)
    y = heights(grid, framed)
    top = min(span(grid, framed, y, name)[0] for name, group in grid.groups.items() if group.cells)
    y = {cell: height + corner[1] - top for cell, height in y.items()}
    sheet = Sheet(grid, circuit, marks, framed, y, closed=closed, colours=_colours(grid, circuit))
    routings = {channel: route(_heights_of(grid, channel, y)) for channel in grid.channels()}
    place(sheet, routings, touches, corner[0])
    for channel, routing in routings.items():
        draw_channel(sheet, channel, routing, touches)
    for name, group in grid.groups.items():
        draw_group(sheet, name, group)
    sheet.bottom = max(span(grid, framed, y, name)[1] for name, group in grid.groups.items() if group.cells)
    return sheet


def untidiness(grid: Grid, framed: Mapping[str, Frame]) -> float:
    """Return how untidy the drawing of an ordered grid is [px]: its height, its upright lines, so much a crossing."""
    y = heights(grid, framed)
    cost = max(y.values())
    for channel in grid.channels():
        runs = [run for run in route(_heights_of(grid, channel, y)).runs if run.track >= 0]
        cost += sum(run.heights[-1] - run.heights[0] for run in runs)
        cost += CROSSED * sum(_crosses(a, b) for a in runs for b in runs)
    return cost


def _crosses(upright: Run, level: Run) -> int:
    """Return how many level ends of one run cross the upright line of another."""
    low, high = upright.heights[0], upright.heights[-1]
    ends = [*(level.left if level.track > upright.track else ()), *(level.right if level.track < upright.track else ())]
    return sum(low < end < high for end in ends)


def _heights_of(
    grid: Grid, channel: Channel, y: Mapping[str, float]
) -> dict[str, tuple[tuple[float, ...], tuple[float, ...]]]:
    return {
        net: (tuple(y[cell] for cell in left), tuple(y[cell] for cell in right))
        for net, (left, right) in grid.pins(channel).items()
    }


def _colours(grid: Grid, circuit: Circuit) -> dict[str, tuple[str, ...]]:
    """Return the colours of each net that is the end of one wire, at a connector or at one other thing."""
    users: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for group in grid.groups.values():
        if group.kind == "dummy" or group.column[0] == "inner":
            continue
        for name in group.cells:
            cell = grid.cells[name]
            member = group.piece.name if group.piece is not None else ""
            for net in {cell.left, cell.right} - {"", *grid.signs}:
                users[net].append((member, group.kind))
    found: dict[str, tuple[str, ...]] = {}
    for net, members in users.items():
        wires = [circuit.parts[m].colour for m, _ in members if m in circuit.parts and circuit.parts[m].kind == "wire"]
        kinds = [kind for _, kind in members]
        ends = len(members) <= 2 or (kinds.count("connector") == 1 and "unit" not in kinds)
        if wires and ends and all(colour == wires[0] for colour in wires):
            found[net] = tuple(wires[0])
    return found
