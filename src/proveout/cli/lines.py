"""The building blocks of text: short labelled lines that can be read at arm's length."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import click

from proveout.diagnosis.chances import chance_text

__all__ = ["bold", "columns", "item", "labelled", "minutes", "paragraph", "suspects"]

WIDTH = 78
LABEL = 11
SHOWN_SUSPECTS = 5
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:%|[µmkM]?[ΩVA]|min)(?:\W|$))")
_HELD = "\u00a0"


def bold(text: str) -> str:
    """Return text in bold for a terminal; the sign is taken off where the output is no terminal."""
    return click.style(text, bold=True)


def labelled(label: str, text: str) -> Iterator[str]:
    """Yield a text behind its label, wrapped and indented; nothing for an empty text."""
    if text:
        head = f"  {label:<{LABEL}}"
        yield from _wrapped(text, head, " " * len(head))


def paragraph(text: str, indent: str = "  ") -> Iterator[str]:
    """Yield a text, wrapped and indented."""
    yield from _wrapped(text, indent, indent)


def item(text: str, indent: str = "  ") -> Iterator[str]:
    """Yield one of many texts, its second line and those below it indented further."""
    yield from _wrapped(text, indent, indent * 2)


def minutes(value: float) -> str:
    """Return minutes as `12 min`, with a decimal below ten."""
    return f"{value:.0f} min" if abs(value) >= 10 or value == int(value) else f"{value:.1f} min"


def suspects(opinions: Sequence[Mapping[str, Any]], most: int = SHOWN_SUSPECTS) -> Iterator[str]:
    """Yield the leading suspects with their probabilities and names."""
    for opinion in opinions[:most]:
        if opinion["probability"] >= 0.005:
            yield f"  {chance_text(opinion['probability']):>11}  {opinion['title']}  ({opinion['suspect']})"


def columns(rows: Iterable[Sequence[str]], indent: str = "  ") -> Iterator[str]:
    """Yield rows as columns as wide as they need, the last one open."""
    table = [tuple(row) for row in rows]
    widths = [max(len(row[k]) for row in table) for k in range(len(table[0]) - 1)] if table else []
    for row in table:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
        yield (indent + "  ".join([*cells, row[-1]])).rstrip()


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    """Wrap between words only, never before a unit: a path, a colour or a command that is cut cannot be typed."""
    lines = textwrap.wrap(
        _BEFORE_UNIT.sub(_HELD, text),
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace(_HELD, " ") for line in lines]
