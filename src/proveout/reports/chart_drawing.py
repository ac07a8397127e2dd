"""A flow chart drawn as a tidy tree over pages of A4 or US Letter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from proveout.reports.chart_pages import (
    BOX,
    GAP,
    LABEL,
    LABEL_LINE,
    LINE,
    PAD,
    REFERENCE,
    SIZE,
    Block,
    Page,
    Paper,
    Placed,
    bold_lines,
    box_lines,
    label_lines,
    paginate,
)
from proveout.reports.chart_tree import ChartNode
from proveout.reports.svg import Circle, Picture, Polygon, Polyline, Shape, Text, text_width, to_svg, wrap

__all__ = ["chart_pictures", "draw_chart"]

PAPERS = {"a4": Paper("A4", 1122.0, 793.0), "letter": Paper("US Letter", 1056.0, 816.0)}
KEY = (
    "Box: do this. Filled box: finding, repair it. Dashed box: stop, nothing is settled. Arrow: goes on at that number."
)
PASSED = "Heavy line with a tick: the way of this case; pointer: here it stands."
LIT, HEAVY = "#0b5c6b", 3.4


@dataclass(frozen=True)
class Way:
    """Page of each box by its number, and the boxes that a case has passed in order, each with the result taken."""

    page: Mapping[str, int]
    path: tuple[tuple[str, str], ...] = ()

    @property
    def boxes(self) -> tuple[str, ...]:
        """The boxes alone."""
        return tuple(number for number, _ in self.path)

    def leads(self, number: str, child: str, label: str) -> bool:
        """Tell whether the case went from one box to the other by this result."""
        return any(
            (before, result, after) == (number, label, child) for (before, result), (after, _) in pairwise(self.path)
        )


def draw_chart(
    root: ChartNode,
    *,
    title: str,
    standing: str = "",
    paper: Literal["a4", "letter"] = "a4",
    path: Sequence[tuple[str, str]] = (),
) -> tuple[str, ...]:
    """Return the chart as SVG texts, one for each page in landscape.

    A node that hangs below several results stands once; the other places refer to it by number and page. `standing` is
    what holds for every box; it is written at the foot of the first page. `path` are the boxes that a case has passed,
    each with the result taken at it, and where it stands last: drawn with heavy lines, a tick at each box passed and
    a pointer at the last.
    """
    pictures = chart_pictures(root, title=title, standing=standing, paper=paper, path=path)
    return tuple(to_svg(picture) for picture in pictures)


def chart_pictures(
    root: ChartNode,
    *,
    title: str,
    standing: str = "",
    paper: Literal["a4", "letter"] = "a4",
    path: Sequence[tuple[str, str]] = (),
) -> tuple[Picture, ...]:
    """Return the pages as shapes; arguments as in `draw_chart`."""
    sheet = PAPERS[paper]
    pages = paginate(root, sheet)
    where = {node: number for number, page in enumerate(pages, 1) for node in _standing(page)}
    foot = [standing] + [""] * (len(pages) - 1)
    way = Way(where, tuple(path))
    return tuple(
        _page(page, number, len(pages), sheet, title, way, foot[number - 1]) for number, page in enumerate(pages, 1)
    )


def _standing(page: Page) -> list[str]:
    found: list[str] = []
    stack = [block.root for block in page.blocks]
    while stack:
        placed = stack.pop()
        if placed.full:
            found.append(placed.node.id)
        stack += placed.children
    return found


def _page(page: Page, number: int, count: int, paper: Paper, title: str, way: Way, standing: str) -> Picture:
    wide, high = paper.width * page.scale, paper.height * page.scale
    head = wrap(title, paper.width - 2 * paper.margin - 110.0, 14.0, bold=True)[:2]
    shapes: list[Shape] = [Text(paper.margin, 28.0 + 17.0 * i, line, 14.0, bold=True) for i, line in enumerate(head)]
    shapes.append(Text(paper.width - paper.margin, 28.0, f"page {number} of {count}", 10.0, "end"))
    shapes.append(Text(paper.margin, high - 14.0, f"{KEY} {PASSED}" if way.path else KEY, 9.0, colour="#444"))
    foot = wrap(standing, paper.width - 2 * paper.margin, 9.0, bold=True)[:2] if standing else []
    shapes += [Text(paper.margin, high - 14.0 - 12.0 * i, line, 9.0, bold=True) for i, line in enumerate(foot[::-1], 1)]
    for block in page.blocks:
        shapes += _block(block, paper, way)
    about = f"Flow chart, page {number} of {count}"
    return Picture(wide, high, title, about, tuple(shapes))


def _block(block: Block, paper: Paper, way: Way) -> list[Shape]:
    top = paper.head + block.top
    shapes: list[Shape] = []
    if block.origin is not None:
        step, label = block.origin
        origin = f"from {step} (page {way.page[step]}): {label}"
        shapes.append(
            Text(paper.margin, top + block.root.y - block.root.height / 2 - 5.0, origin, LABEL, colour="#444")
        )
    return [*shapes, *_tree(block.root, paper.margin, top, way)]


def _tree(placed: Placed, left: float, top: float, way: Way) -> list[Shape]:
    x = left + placed.level * (BOX + GAP)
    y = top + placed.y
    shapes = _box(placed, x, y, way) if placed.full else _reference(placed, x, y, way)
    trunk = x + BOX + 14.0
    if placed.children:
        ys = [top + child.y for child in placed.children]
        shapes.append(Polyline(((x + BOX, y), (trunk, y)), role="branch"))
        shapes.append(Polyline(((trunk, min(*ys, y)), (trunk, max(*ys, y))), role="branch"))
    for child in placed.children:
        at = top + child.y
        end = x + BOX + GAP
        shapes.append(Polyline(((trunk, at), (end, at)), role="branch"))
        shapes.append(Polygon(((end, at), (end - 6.0, at - 3.0), (end - 6.0, at + 3.0)), "#111", width=0.6))
        if way.leads(placed.node.id, child.node.id, child.label):
            bends = ((x + BOX, y), (trunk, y), (trunk, at), (end - 6.0, at))
            shapes.append(Polyline(bends, LIT, HEAVY, role="path"))
        shapes += _label(child.label, trunk + 4.0, at)
        shapes += _tree(child, left, top, way)
    return shapes


def _label(label: str, x: float, y: float) -> list[Shape]:
    lines = label_lines(label)
    above = (len(lines) + 1) // 2
    tops = [y - 3.0 - LABEL_LINE * (above - 1 - i) for i in range(above)]
    feet = [y + 9.5 + LABEL_LINE * i for i in range(len(lines) - above)]
    return [Text(x, at, line, LABEL, bold=True) for at, line in zip([*tops, *feet], lines, strict=True)]


def _box(placed: Placed, x: float, y: float, way: Way) -> list[Shape]:
    node, lines = placed.node, box_lines(placed.node)
    half = (LINE * len(lines) + 2 * PAD) / 2
    corners = ((x, y - half), (x + BOX, y - half), (x + BOX, y + half), (x, y + half))
    fill, dash, width = {
        "action": ("#fff", "", 1.3),
        "finding": ("#e3e3de", "", 2.2),
        "stop": ("#fff", "5 3", 1.5),
    }[node.kind]
    bold = bold_lines(node)
    first = y - half + PAD + 9.0
    number = Text(x + PAD, first, node.id, SIZE, bold=True)
    shapes: list[Shape] = [Polygon(corners, fill, width=width, dash=dash, radius=4.0), number]
    for i, line in enumerate(lines):
        at = x + PAD + (text_width(f"{node.id} ", SIZE, bold=True) if i == 0 else 0.0)
        shapes.append(Text(at, first + LINE * i, line, SIZE, bold=i < bold))
    return [*shapes, *_marked(node.id, corners, way)]


def _marked(number: str, corners: tuple[tuple[float, float], ...], way: Way) -> list[Shape]:
    """Return what marks a box on the path of a case: a heavy edge, and a tick or, where the case stands, a pointer."""
    if number not in way.boxes:
        return []
    (x, y), (right, _) = corners[0], corners[1]
    edge = Polygon(corners, "none", LIT, HEAVY, radius=4.0)
    if number == way.boxes[-1]:
        return [edge, Polygon(((x - 15.0, y - 1.0), (x - 3.0, y + 6.0), (x - 15.0, y + 13.0)), LIT, LIT, 1.0)]
    ground = Circle(right - 1.0, y, 8.0, "#fff", LIT, 2.0)
    return [edge, ground, Polyline(((right - 5.0, y), (right - 2.0, y + 3.5), (right + 4.0, y - 4.0)), LIT, 2.4)]


def _reference(placed: Placed, x: float, y: float, way: Way) -> list[Shape]:
    half = REFERENCE / 2
    wide = 112.0
    corners = ((x, y - half), (x + wide, y - half), (x + wide + 12.0, y), (x + wide, y + half), (x, y + half))
    words = f"go on at {placed.node.id}, page {way.page[placed.node.id]}"
    return [
        Polygon(corners, "#fff", width=1.1),
        Circle(x + 4.0, y, 1.5, "#111"),
        Text(x + 10.0, y + 3.4, words, LABEL),
    ]
