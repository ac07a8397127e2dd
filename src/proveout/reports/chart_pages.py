"""A flow chart divided over pages: which boxes stand on which page, and where."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field

from proveout.reports.chart_tree import ChartNode
from proveout.reports.svg import text_width, wrap

__all__ = [
    "BOX",
    "GAP",
    "SIZE",
    "Block",
    "Page",
    "Paper",
    "Placed",
    "bold_lines",
    "box_lines",
    "label_lines",
    "paginate",
]

BOX = 168.0
GAP = 104.0
SIZE = 10.0
LINE = 12.0
LABEL = 9.0
LABEL_LINE = 10.5
PAD = 7.0
BETWEEN = 9.0
BETWEEN_BLOCKS = 34.0
REFERENCE = 24.0


@dataclass(frozen=True)
class Paper:
    """A page in landscape [px at 96 an inch], with the room that heading and margins take."""

    name: str
    width: float
    height: float
    margin: float = 34.0
    head: float = 64.0
    foot: float = 22.0

    @property
    def room(self) -> float:
        """Height left for boxes [px]."""
        return self.height - self.head - self.foot - self.margin

    @property
    def levels(self) -> int:
        """How many boxes fit side by side."""
        return int((self.width - 2 * self.margin + GAP) // (BOX + GAP))


@dataclass
class Placed:
    """One box: its node, whether it stands in full or as a reference, level and middle height."""

    node: ChartNode
    full: bool
    level: int
    height: float
    y: float = 0.0
    label: str = ""
    children: list[Placed] = field(default_factory=list)


@dataclass
class Block:
    """A tree on one page, with the node and result it goes on from (none for the first)."""

    root: Placed
    origin: tuple[str, str] | None
    top: float = 0.0
    height: float = 0.0


@dataclass
class Page:
    """The blocks of one page, one below the other; `scale` above 1 means drawn smaller to fit."""

    blocks: list[Block] = field(default_factory=list)
    scale: float = 1.0


def box_lines(node: ChartNode) -> list[str]:
    """Return the lines of a box as broken for its width."""
    room = BOX - 2 * PAD - 4.0
    first = room - text_width(f"{node.id} ", SIZE, bold=True)
    lines: list[str] = []
    for i, line in enumerate(node.lines):
        lines += wrap(line, first if i == 0 else room, SIZE, bold=i == 0 and node.kind == "finding")
    return lines or [""]


def bold_lines(node: ChartNode) -> int:
    """Return how many lines of a box are written bold: those of a finding's first."""
    if node.kind != "finding":
        return 0
    return len(box_lines(ChartNode(node.id, node.lines[:1], node.kind)))


def label_lines(label: str) -> list[str]:
    """Return the lines of a result beside its branch."""
    return wrap(label, GAP - 26.0, LABEL)


def paginate(root: ChartNode, paper: Paper) -> list[Page]:
    """Divide a chart over pages: each block as deep and as high as fits, the rest by reference to a later page."""
    waiting: deque[tuple[ChartNode, tuple[str, str] | None]] = deque([(root, None)])
    owner = {root.id}
    pages: list[Page] = []
    while waiting:
        node, origin = waiting.popleft()
        page = pages[-1] if pages else Page()
        used = sum(block.height + BETWEEN_BLOCKS for block in page.blocks)
        whole = _grow(node, origin, paper.levels, paper.room - used, owner)
        crowded = bool(_open_ends(whole.root, owner)) or used + whole.height > paper.room
        if not pages or (page.blocks and crowded):
            page, used = Page(), 0.0
            pages.append(page)
            whole = _grow(node, origin, paper.levels, paper.room, owner)
        whole.top = used
        page.blocks.append(whole)
        page.scale = max(page.scale, (used + whole.height) / paper.room)
        owner |= {placed.node.id for placed in _flat(whole.root) if placed.full}
        for placed in _open_ends(whole.root, owner):
            owner.add(placed.node.id)
            waiting.append((placed.node, _from(whole.root, placed)))
    return pages


def _from(root: Placed, target: Placed) -> tuple[str, str]:
    parent = next(p for p in _flat(root) if any(child is target for child in p.children))
    return parent.node.id, target.label


def _flat(placed: Placed) -> Iterable[Placed]:
    yield placed
    for child in placed.children:
        yield from _flat(child)


def _open_ends(root: Placed, owner: set[str]) -> list[Placed]:
    """Return the references whose nodes stand nowhere yet, each node once."""
    shown = {p.node.id for p in _flat(root) if p.full}
    found: dict[str, Placed] = {}
    for placed in _flat(root):
        if not placed.full and placed.node.id not in owner | shown:
            found.setdefault(placed.node.id, placed)
    return list(found.values())


def _grow(node: ChartNode, origin: tuple[str, str] | None, levels: int, room: float, owner: set[str]) -> Block:
    """Return a block that is opened breadth first as long as it fits; boxes without children always stand in full."""
    opened = {node.id}
    block = _block(node, origin, opened, levels, owner)
    edge = deque([(node, 0)])
    while edge:
        here, level = edge.popleft()
        for _, child in here.children:
            if not child.children or child.id in opened | owner or level + 2 >= levels:
                continue
            trial = _block(node, origin, opened | {child.id}, levels, owner)
            if trial.height <= room:
                opened.add(child.id)
                block = trial
                edge.append((child, level + 1))
    return block


def _block(node: ChartNode, origin: tuple[str, str] | None, opened: set[str], levels: int, owner: set[str]) -> Block:
    root = _placed(node, "", levels, opened, owner - {node.id}, set())
    height = _stack(root, 0.0)
    return Block(root, origin, 0.0, height)


def _placed(
    node: ChartNode, label: str, left: int, opened: set[str], owner: set[str], drawn: set[str], level: int = 0
) -> Placed:
    """Return a node and what stands below it in `left` levels; one with children stands in full if they have room."""
    fits = not node.children or (node.id in opened and left > 1)
    full = node.id not in owner and node.id not in drawn and fits
    height = LINE * len(box_lines(node)) + 2 * PAD if full else REFERENCE
    lines = len(label_lines(label)) if label else 0
    placed = Placed(node, full, level, max(height, LABEL_LINE * (lines + lines % 2) + 4.0), label=label)
    if full:
        drawn.add(node.id)
        placed.children = [_placed(c, text, left - 1, opened, owner, drawn, level + 1) for text, c in node.children]
    return placed


def _stack(placed: Placed, top: float) -> float:
    """Place a box and all below it from `top` downwards; return the height they take."""
    below = top
    for i, child in enumerate(placed.children):
        below += BETWEEN if i else 0.0
        below += _stack(child, below)
    taken = max(placed.height, below - top)
    if placed.children:
        placed.y = (placed.children[0].y + placed.children[-1].y) / 2
        placed.y = min(max(placed.y, top + placed.height / 2), top + taken - placed.height / 2)
    else:
        placed.y = top + taken / 2
    if below - top < taken and placed.children:
        shift = (taken - (below - top)) / 2
        for child in placed.children:
            for each in _flat(child):
                each.y += shift
        placed.y = top + taken / 2
    return taken
