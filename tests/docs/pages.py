"""The documents as text: their tables and their fenced blocks."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "proveout"
PAGES = (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
_FENCE = re.compile(r"^```(?P<info>[^\n`]*)\n(?P<body>.*?)^```$", re.MULTILINE | re.DOTALL)
_RULE = re.compile(r"^:?-+:?$")


@dataclass(frozen=True)
class Fenced:
    """A fenced block: what stands behind the fence, the lines inside, and the line of the page where it begins."""

    info: str
    lines: tuple[str, ...]
    line: int


def section(page: str, heading: str) -> str:
    """Return what stands under a heading of the second level."""
    found = re.search(rf"^## {re.escape(heading)}\n(.*?)(?=^## |\Z)", page, re.MULTILINE | re.DOTALL)
    assert found, f"no section '{heading}'"
    return found[1]


def rows(text: str) -> list[list[str]]:
    """Return the cells of every table row, without the heads of the tables."""
    lines = [line for line in text.splitlines() if line.startswith("|")]
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    heads = {k - 1 for k, row in enumerate(cells) if all(_RULE.match(cell) for cell in row)}
    return [row for k, row in enumerate(cells) if k not in heads and k - 1 not in heads]


def fenced(page: Path) -> list[Fenced]:
    """Return the fenced blocks of a page in order."""
    text = page.read_text("utf-8")
    return [
        Fenced(found["info"].strip(), tuple(found["body"].splitlines()), text.count("\n", 0, found.start()) + 1)
        for found in _FENCE.finditer(text)
    ]


def prose(page: Path) -> str:
    """Return a page without its fenced blocks."""
    return _FENCE.sub("", page.read_text("utf-8"))


def product_text() -> str:
    """Return everything that the product says and is made of, as one text with single spaces."""
    kinds = {".py", ".yaml", ".j2", ".typ"}
    files = [file for file in sorted(SOURCE.rglob("*")) if file.suffix in kinds and "netlists" not in file.parts]
    texts = [file.read_text("utf-8") for file in files]
    texts += [prose(page) for page in PAGES if page.name not in ("terms.md", "sources.md")]
    return re.sub(r"\s+", " ", "\n".join(texts))
