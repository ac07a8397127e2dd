"""Writes what the documents show anew, from what is printed now: `.venv/bin/python tests/docs/renew.py [PAGE ...]`.

A block keeps its shape: as many lines before its `…` and after it as there were. One that agrees is left as it is. Read
the difference before it is committed: a test only says that the page is true, not that what it shows is right.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from cli.running import Garage  # noqa: E402  # the tests' folder is put on the path above
from docs.pages import PAGES  # noqa: E402
from docs.shown import CUT, REFUSED, Typed, agrees, type_page  # noqa: E402


def renewed(shown: tuple[str, ...], printed: str) -> list[str]:
    """Return the lines to show: as many as before, from both ends of what is printed now."""
    lines = [line.rstrip() for line in printed.strip("\n").splitlines()]
    if CUT not in shown:
        return lines
    before = shown.index(CUT)
    after = len(shown) - before - 1
    return [*lines[:before], CUT, *lines[len(lines) - after :]]


def renew(page: Path) -> list[str]:
    """Write a page anew and return what could not be."""
    faults, changes = [], dict[int, tuple[tuple[str, ...], list[str]]]()
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        for typed in type_page(page, Garage(Path(folder))):
            if typed.fault and not _can_be_renewed(typed):
                faults.append(typed.fault)
            elif typed.shown is not None and not agrees(typed.shown.lines, typed.printed):
                changes[typed.shown.line] = (typed.shown.lines, renewed(typed.shown.lines, typed.printed))
        os.chdir(ROOT)
    lines = page.read_text("utf-8").splitlines()
    for line, (old, new) in sorted(changes.items(), reverse=True):
        lines[line : line + len(old)] = new
    page.write_text("\n".join(lines) + "\n", "utf-8")
    return faults


def _can_be_renewed(typed: Typed) -> bool:
    """Tell whether only the output differs, and the block leaves out whole lines in one place at most."""
    if typed.shown is None:
        return False
    lines = typed.shown.lines
    refused = "".join(lines[:1]).startswith(REFUSED)
    whole = sum(CUT in line for line in lines) == lines.count(CUT) <= 1
    return typed.code == (2 if refused else 0) and whole


if __name__ == "__main__":
    chosen = [Path(name).resolve() for name in sys.argv[1:]] or list(PAGES)
    problems = [fault for page in chosen for fault in renew(page)]
    print("\n\n".join(problems) or "all pages show what is printed now")
    sys.exit(bool(problems))
