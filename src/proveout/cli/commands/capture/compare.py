"""`proveout capture compare`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from proveout.captures.compare import compare
from proveout.captures.readers import Overrules, read
from proveout.cli.capture_lines import comparison_lines
from proveout.cli.capture_overrules import channel_roles, with_overrules
from proveout.cli.options import JobCommand, say, with_json

__all__ = ["compare_files"]


@click.command(
    "compare",
    cls=JobCommand,
    examples=("proveout capture compare crank.csv good.csv", "proveout capture compare crank.csv good.csv --json"),
)
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("reference", type=click.Path(path_type=Path))
@with_overrules
@with_json
def compare_files(file: Path, reference: Path, overrules: Overrules, roles: dict[str, str], as_json: bool) -> None:
    """Compare a recording with a known-good one, or with the one before the repair.

    REFERENCE is the known-good recording or the one from before. What is said of the recording by options is said of
    both.
    """
    now, good = read(file, overrules), read(reference, overrules)
    taken = channel_roles(roles, overrules)
    say(compare(now, good, taken, taken).as_dict(), _lines, as_json=as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield from comparison_lines(twin)
