"""The demands on the heights of all rows of a grid, and the heights that meet them."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from proveout.reports.schematic.frames import Frame
from proveout.reports.schematic.grid import Column, Grid
from proveout.reports.schematic.rows import Rows

__all__ = ["heights", "span"]

BETWEEN = 10.0
UNIT_FOOT = 8.0
STRETCH = {"part": 1.5, "connector": 3.0, "unit": 8.0, "dummy": 1.0}
"""How far apart the rows of a group may be drawn to keep lines straight, as a multiple of their least distance."""


def heights(grid: Grid, frames: Mapping[str, Frame]) -> dict[str, float]:
    """Return the height of every cell [px], y downwards from 0."""
    rows = Rows()
    for column in grid.columns:
        _stack(rows, grid, column, frames)
    for name, group in grid.groups.items():
        if group.kind == "unit":
            for inner in grid.columns[("inner", name)]:
                rows.space(f"{name}^", f"{inner}^", frames[name].head + 4.0)
                rows.space(f"{inner}_", f"{name}_", UNIT_FOOT)
    joined = []
    for channel in grid.channels():
        nets = grid.pins(channel)
        joined += [[*left, *right] for left, right in nets.values()]
    for pairs in _alignments(grid):
        for first, second in pairs:
            rows.align(first, second)
    solved = rows.solve(joined)
    return {name: solved[name] for name in grid.cells}


def _stack(rows: Rows, grid: Grid, column: Column, frames: Mapping[str, Frame]) -> None:
    for upper, lower in pairwise(grid.columns[column]):
        rows.space(f"{upper}_", f"{lower}^", BETWEEN)
    for name in grid.columns[column]:
        frame, cells = frames[name], grid.groups[name].cells
        if not cells:
            rows.space(f"{name}^", f"{name}_", frame.head)
            continue
        rows.space(f"{name}^", cells[0], frame.head + frame.above)
        for (upper, lower), distance in zip(pairwise(cells), frame.pitch, strict=True):
            rows.space(upper, lower, distance)
            rows.bound(upper, lower, max(distance, STRETCH[grid.groups[name].kind] * distance))
        rows.space(cells[-1], f"{name}_", frame.below)


def _alignments(grid: Grid) -> list[list[tuple[str, str]]]:
    """Return the pairs of rows that should stand at one height, the most wanted first."""
    pairs: list[list[tuple[str, str]]] = [[], [], []]
    for channel in grid.channels():
        for left, right in grid.pins(channel).values():
            simple = len(left) == 1 and len(right) == 1
            rank = 0 if simple and channel[0] == "outer" else 1 if simple else 2
            pairs[rank] += [(a, b) for a in left for b in right]
    return pairs


def span(grid: Grid, framed: Mapping[str, Frame], y: Mapping[str, float], name: str) -> tuple[float, float]:
    """Return top and bottom of a group with its head; of a unit with all that is in it [px]."""
    group, frame = grid.groups[name], framed[name]
    reach = [(y[group.cells[0]] - frame.above, y[group.cells[-1]] + frame.below)] if group.cells else []
    if group.kind != "unit":
        return reach[0][0] - frame.head, reach[0][1]
    inner = [span(grid, framed, y, member) for member in grid.columns[("inner", name)]]
    top = min(span[0] for span in [*reach, *inner])
    return top - 4.0 - frame.head, max(span[1] for span in [*reach, *inner]) + UNIT_FOOT
