"""Lines, dots and ground signs in one channel."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from proveout.reports.schematic.channels import Routing, Run
from proveout.reports.schematic.colours import Points, striped
from proveout.reports.schematic.grid import Channel
from proveout.reports.schematic.placing import TRACK, sign_room, signs, zone
from proveout.reports.schematic.sheet import Sheet, Touch
from proveout.reports.schematic.symbols import ground_sign
from proveout.reports.svg import Circle, Shape, Text

__all__ = ["draw_channel"]

CORNER = 0.6


def draw_channel(sheet: Sheet, channel: Channel, routing: Routing, touches: Sequence[Touch]) -> None:
    """Draw the lines and ground signs of a channel; inside a unit all lines are plain."""
    colours = sheet.colours if channel[0] == "outer" else {}
    x0, x1 = sheet.spans.get(channel, (0.0, 0.0))
    first = x0 + zone(sheet, channel, 0, touches) + TRACK / 2
    lines: dict[str, list[Points]] = defaultdict(list)
    dots: list[Shape] = []
    for link in routing.links:
        lines[link.net].append(((first + TRACK * link.first, link.height), (first + TRACK * link.last, link.height)))
    for run in routing.runs:
        if run.track < 0:
            start = x0 if run.left else x1 - zone(sheet, channel, 1, touches)
            end = x1 if run.right else x0 + zone(sheet, channel, 0, touches)
            lines[run.net].append(((start, run.heights[0]), (end, run.heights[0])))
            continue
        x = first + TRACK * run.track
        lines[run.net] += _bent(run, x, x0, x1)
        dots += [Circle(x, height, 2.8, "#111") for height in run.heights if _joins(run, height)]
    for net, parts in lines.items():
        sheet.wires += striped(parts, colours.get(net, ()), net)
    sheet.symbols += dots
    for edge in (0, 1):
        room = zone(sheet, channel, edge, touches)
        for cell, net in signs(sheet, channel, edge):
            start, way = (x0, 1.0) if edge == 0 else (x1, -1.0)
            at = start + way * (room - 4.0 - sign_room(sheet, channel, edge) / 2)
            height = sheet.y[cell]
            sheet.wire(net, ((start, height), (at, height)), plain=True)
            sign = ground_sign(at, height, sheet.grid.signs[net], battery=net == sheet.circuit.ground)
            sheet.symbols += [shape for shape in sign if not isinstance(shape, Text)]
            sheet.texts += [shape for shape in sign if isinstance(shape, Text)]


def _bent(run: Run, x: float, x0: float, x1: float) -> list[Points]:
    """Return the lines of a run with an upright one at x: one line round both corners where it has just two ends."""
    if len(run.left) == 1 and len(run.right) == 1 and run.link is None:
        return [((x0, run.left[0]), (x, run.left[0]), (x, run.right[0]), (x1, run.right[0]))]
    levels = [((x0, height), (x, height)) for height in run.left] + [
        ((x, height), (x1, height)) for height in run.right
    ]
    return [((x, run.heights[0] - CORNER), (x, run.heights[-1] + CORNER)), *levels]


def _joins(run: Run, height: float) -> bool:
    """Whether three lines or more of a run meet at a height."""
    inside = run.heights[0] < height < run.heights[-1]
    return (height in run.left) + (height in run.right) + (height == run.link) + 1 + inside >= 3
