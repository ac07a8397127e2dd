"""`proveout capture read`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from proveout.captures.analyse import analyse
from proveout.captures.readers import Overrules, read
from proveout.captures.twin import capture_twin
from proveout.cli.capture_lines import findings_lines, reading_lines
from proveout.cli.capture_overrules import channel_roles, with_overrules
from proveout.cli.options import JobCommand, say, with_json

__all__ = ["read_file"]


@click.command(
    "read",
    cls=JobCommand,
    examples=(
        "proveout capture read crank.csv",
        "proveout capture read crank.csv --attenuation Crank=10 --json",
        "proveout capture read crank.csv --rate 20000 --role 'Crank=crank sensor'",
    ),
)
@click.argument("file", type=click.Path(path_type=Path))
@with_overrules
@with_json
def read_file(file: Path, overrules: Overrules, roles: dict[str, str], as_json: bool) -> None:
    """Read a recording and say what it shows.

    CSV, WAV, MDF 4, Parquet, Arrow, NumPy or VCD, packed with gzip or not; the name of the file decides nothing. What
    the file does not say is guessed, and the guess is shown with the option that overrules it.
    """
    capture = read(file, overrules)
    findings = analyse(capture, channel_roles(roles, overrules))
    say({"capture": capture_twin(capture), "findings": findings.as_dict()}, _lines, as_json=as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield from reading_lines(twin["capture"], twin["findings"]["roles"])
    yield from findings_lines(twin["findings"])
