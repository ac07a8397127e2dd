"""A flow chart as a plain tree, and as text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

__all__ = ["ChartNode", "chart_text", "walk"]

LEAST = 30


@dataclass(frozen=True)
class ChartNode:
    """One box of a flow chart: an action with its results, a finding, or a stop without one.

    A node may hang below several results; it is drawn once and referred to by its `id` elsewhere.
    """

    id: str
    lines: tuple[str, ...]
    kind: Literal["action", "finding", "stop"]
    children: tuple[tuple[str, ChartNode], ...] = ()


def walk(root: ChartNode) -> Iterator[ChartNode]:
    """Yield every node once, in reading order."""
    seen = set[str]()
    stack = [root]
    while stack:
        node = stack.pop()
        if node.id not in seen:
            seen.add(node.id)
            yield node
            stack.extend(child for _, child in reversed(node.children))


SIGNS = {"action": "", "finding": "■ ", "stop": "□ "}


def chart_text(root: ChartNode, *, title: str = "", width: int = 100) -> str:
    """Return the chart as an indented tree no wider than `width` characters (but never narrower than its branches)."""
    lines = [*([title, ""] if title else []), *_node(root, "", "", set(), width)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _node(node: ChartNode, lead: str, rest: str, seen: set[str], width: int) -> list[str]:
    """Return a node and what hangs below it; `lead` stands before its first line, `rest` before all others."""
    seen.add(node.id)
    trunk = rest + ("│  " if node.children else "   ")
    head = f"{node.id}  {SIGNS[node.kind]}"
    lines = _wrapped(head + " ".join(node.lines[:1]), lead, trunk, width)
    for line in node.lines[1:]:
        lines += _wrapped(line, trunk, trunk, width)
    for i, (label, child) in enumerate(node.children):
        last = i == len(node.children) - 1
        branch = "└─ " if last else "├─ "
        below = rest + ("   " if last else "│  ")
        if child.id in seen:
            lines += _wrapped(f"{label}: → {child.id}", rest + branch, below, width)
            continue
        lines += _wrapped(f"{label}:", rest + branch, below, width)
        lines += _node(child, below, below, seen, width)
    return lines


def _wrapped(text: str, lead: str, rest: str, width: int) -> list[str]:
    room = max(LEAST, width - max(len(lead), len(rest)))
    parts = textwrap.wrap(text, room) or [""]
    return [(lead if i == 0 else rest) + part for i, part in enumerate(parts)]
