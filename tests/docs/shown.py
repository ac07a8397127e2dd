"""Types what the documents show and compares what comes back.

A block marked `sh` is typed line by line: lines of `proveout` run in a garage of their own, `make demo` runs the demo,
and the others prepare a checkout and must be among those known here. A block marked `text` right after it shows what
the last line printed, with `…` for what was left out; where it begins with `proveout: ` the line is refused with exit
code 2. A block marked `yaml NAME` or `csv NAME` is a file of that name.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cli.running import Garage
from docs.pages import ROOT, Fenced, fenced

CUT = "…"
REFUSED = "proveout: "
PREPARES = ('export PATH="$PWD/.venv/bin:$PATH"',)


@dataclass(frozen=True)
class Typed:
    """One line as it was typed: where it stands, what it printed, how it ended, and the block that shows its output."""

    place: str
    line: str
    printed: str
    code: int
    shown: Fenced | None

    @property
    def fault(self) -> str:
        """What is not as the page says, empty when all is."""
        refused = self.shown is not None and "".join(self.shown.lines[:1]).startswith(REFUSED)
        if self.code != (2 if refused else 0):
            return f"{self.place}: '{self.line}' ends with {self.code}\n{self.printed}"
        if self.shown is not None and not agrees(self.shown.lines, self.printed):
            return f"{self.place}: '{self.line}' does not print what is shown, but\n{self.printed}"
        return ""


def agrees(shown: tuple[str, ...], printed: str) -> bool:
    """Tell whether an output is what is shown; each `…` stands for anything."""
    wanted = "\n".join(line.rstrip() for line in shown)
    got = "\n".join(line.rstrip() for line in printed.strip("\n").splitlines())
    return re.fullmatch(".*?".join(map(re.escape, wanted.split(CUT))), got, re.DOTALL) is not None


def commands(block: Fenced) -> list[str]:
    """Return the lines of a block as they are typed; a line that ends in a backslash goes on."""
    return [line for line in "\n".join(block.lines).replace("\\\n", "").splitlines() if line.strip()]


def type_page(page: Path, garage: Garage) -> Iterator[Typed]:
    """Type a page from top to bottom in the garage's folder, which must be the current one."""
    blocks = fenced(page)
    for block, following in zip(blocks, [*blocks[1:], None], strict=False):
        if block.info.startswith(("yaml ", "csv ")):
            (garage.folder / block.info.split(" ", 1)[1]).write_text("\n".join(block.lines) + "\n", "utf-8")
        if block.info != "sh":
            continue
        lines = commands(block)
        for line in lines:
            shown = following if line is lines[-1] and following is not None and following.info == "text" else None
            place = f"{page.relative_to(ROOT)}:{block.line}"
            printed, code = _typed(line, garage)
            yield Typed(place, line, printed, code, shown)


def _typed(line: str, garage: Garage) -> tuple[str, int]:
    words = shlex.split(line)
    if line == "make demo":
        words = ["proveout", "demo"]
    if words[0] == "proveout":
        result = garage.run(*words[1:])
        return result.output, result.exit_code
    if words[0] == "make":
        known = set(re.findall(r"^([\w-]+):.*##", (ROOT / "Makefile").read_text("utf-8"), re.MULTILINE))
        return ("", 0) if set(words[1:]) <= known else (f"no target {words[1:]}", 127)
    return ("", 0) if line in PREPARES else (f"'{line}' is not known to tests/docs/shown.py", 127)
