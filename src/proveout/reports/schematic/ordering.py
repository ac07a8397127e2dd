"""The order of groups and rows from top to bottom, so that few lines cross.

Steepest descent over swaps and moves in one column at a time, from the order of the circuit file and from barycentre
sweeps of it (Sugiyama, Tagawa and Toda 1981 for the sweeps); no random numbers, so the same circuit gives the same
drawing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from itertools import combinations, pairwise

from proveout.reports.schematic.grid import Channel, Column, Grid

__all__ = ["arrange"]

ROUNDS = 12
STARTS = ("", "f", "bf", "fbf", "bfbf", "fb")
"""Sweeps before each descent, forward from the root or backward to it."""
MIRRORED = 2.0
CROSSING = 10.0
Pins = dict[str, tuple[list[str], list[str]]]
Undo = Callable[[], None]


def arrange(grid: Grid, measure: Callable[[], float]) -> None:
    """Reorder the grid's columns and groups in place; `measure` judges the drawing of a finished order."""
    pins = {channel: grid.pins(channel) for channel in grid.channels()}
    given = _state(grid)
    found = []
    for number, sweeps in enumerate(STARTS):
        _restore(grid, given)
        for direction in sweeps:
            _sweep(grid, pins, forward=direction == "f")
        _descend(grid, pins)
        found.append((measure(), number, _state(grid)))
    _restore(grid, min(found)[2])


def _ranks(grid: Grid, columns: list[Column]) -> dict[str, float]:
    rank = {}
    for column in columns:
        rows = grid.rows(column)
        rank.update({cell: (i + 0.5) / len(rows) for i, cell in enumerate(rows)})
    return rank


def _cost(nets: Pins, rank: Mapping[str, float]) -> float:
    lines = [([rank[c] for c in left], [rank[c] for c in right]) for left, right in nets.values()]
    through = [(_mean(left), _mean(right)) for left, right in lines if left and right]
    crossed = sum((a[0] - b[0]) * (a[1] - b[1]) < 0 for a, b in combinations(through, 2))
    bent = sum(abs(a - b) for a, b in through)
    passed = 0
    for edge in (0, 1):
        marks = [(r, net) for net, line in enumerate(lines) for r in line[edge]]
        for net, line in enumerate(lines):
            for low, high in pairwise(sorted(line[edge])):
                passed += sum(low < r < high and other != net for r, other in marks)
    return CROSSING * (crossed + passed) + bent


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


def _descend(grid: Grid, pins: Mapping[Channel, Pins]) -> None:
    for _ in range(ROUNDS):
        helped = [_improve(grid, column, pins) for column in list(grid.columns)]
        if not any(helped):
            return


def _improve(grid: Grid, column: Column, pins: Mapping[Channel, Pins]) -> bool:
    """Try every move in one column and keep those that help."""
    touched = _touched(grid, column, pins)
    rank = _ranks(grid, list(grid.columns))
    now = sum(_cost(pins[channel], rank) for channel in touched) + _mirrored(grid, column)
    better = False
    for undo in _moves(grid, column):
        moved = rank | _ranks(grid, [column])
        cost = sum(_cost(pins[channel], moved) for channel in touched) + _mirrored(grid, column)
        if cost < now - 1e-9:
            now, rank, better = cost, moved, True
        else:
            undo()
    return better


def _mirrored(grid: Grid, column: Column) -> float:
    """Return the cost of symbols that stand on their heads (supply below, ground above)."""
    groups = (grid.groups[name] for name in grid.columns[column])
    return MIRRORED * sum(group.orders is not None and tuple(group.cells) != group.orders[0] for group in groups)


def _touched(grid: Grid, column: Column, pins: Mapping[Channel, Pins]) -> list[Channel]:
    channels = list(grid.edges(column))
    for name in grid.columns[column]:
        if grid.groups[name].kind == "unit":
            channels += [("inner", name, "left"), ("inner", name, "right")]
    return [channel for channel in channels if channel in pins]


def _moves(grid: Grid, column: Column) -> Iterator[Undo]:
    """Carry out one move after another, each yielded with what takes it back."""
    order = grid.columns[column]
    for name in list(order):
        for place in range(len(order)):
            before = list(order)
            order.remove(name)
            order.insert(place, name)
            if order != before:
                yield partial(_assign, order, before)
    for name in list(order):
        group = grid.groups[name]
        for first, second in combinations(range(len(group.cells)), 2):
            if group.orders is None:
                before = list(group.cells)
                group.cells[first], group.cells[second] = group.cells[second], group.cells[first]
                yield partial(_assign, group.cells, before)
        for wanted in group.orders or ():
            before = list(group.cells)
            if list(wanted) != before:
                _assign(group.cells, list(wanted))
                yield partial(_assign, group.cells, before)


def _assign(target: list[str], values: list[str]) -> None:
    target[:] = values


def _sweep(grid: Grid, pins: Mapping[Channel, Pins], *, forward: bool) -> None:
    """Sort every column by the mean place of what its rows are joined to on the side the sweep comes from."""
    for column in _sequence(grid, forward):
        rank = _ranks(grid, list(grid.columns))
        pull: dict[str, list[float]] = defaultdict(list)
        for channel in _behind(grid, column, forward):
            for left, right in pins.get(channel, {}).values():
                for cell in left:
                    pull[cell] += [rank[other] for other in right]
                for cell in right:
                    pull[cell] += [rank[other] for other in left]
        place = {cell: _mean(pull[cell]) if pull[cell] else rank[cell] for cell in grid.rows(column)}
        for name in grid.columns[column]:
            group = grid.groups[name]
            if group.orders is None:
                group.cells.sort(key=place.__getitem__)
            else:
                best = min(group.orders, key=lambda order: sum(i * -place[cell] for i, cell in enumerate(order)))
                _assign(group.cells, list(best))
        grid.columns[column].sort(key=lambda name: _mean([place[cell] for cell in grid.groups[name].cells] or [0.5]))


def _sequence(grid: Grid, forward: bool) -> list[Column]:
    columns: list[Column] = []
    for number in range(grid.last + 1):
        at: Column = ("outer", str(number))
        inner: list[Column] = [("inner", n) for n in grid.columns[at] if grid.groups[n].kind == "unit"]
        columns += [*inner, at] if number == 0 else [at, *inner]
    return columns if forward else columns[::-1]


def _behind(grid: Grid, column: Column, forward: bool) -> list[Channel]:
    if column[0] == "inner":
        return list(grid.edges(column))
    left, right = grid.edges(column)
    if column[1] == "0" and forward:
        return [("inner", name, "right") for name in grid.columns[column]]
    return [left if forward else right]


def _state(grid: Grid) -> tuple[dict[Column, list[str]], dict[str, list[str]]]:
    columns = {column: list(names) for column, names in grid.columns.items()}
    return columns, {name: list(group.cells) for name, group in grid.groups.items()}


def _restore(grid: Grid, state: tuple[dict[Column, list[str]], dict[str, list[str]]]) -> None:
    for column, names in state[0].items():
        grid.columns[column][:] = names
    for name, cells in state[1].items():
        grid.groups[name].cells[:] = cells
