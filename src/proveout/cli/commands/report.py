"""`proveout report`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from proveout.cli.lines import bold
from proveout.cli.options import JobCommand, say
from proveout.cli.report_files import write_report
from proveout.cli.workplace import Workplace, with_workplace
from proveout.reports.report import Paper


@click.command(
    "report",
    cls=JobCommand,
    examples=("proveout report", "proveout report -o reports --paper letter", "proveout report 12"),
)
@click.argument("case", required=False)
@click.option(
    "-o", "--output", type=click.Path(file_okay=False, path_type=Path), default=Path(), help="Folder to write to."
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", help="Paper of the print.")
@with_workplace
def report(place: Workplace, case: str | None, output: Path, paper: Paper) -> None:
    """Write the report: one HTML file, one PDF.

    Concern, cause, correction; every reading with its limit and what it ruled out; minutes and parts; the proof; a
    page for the customer in plain words.
    """
    place.about(case)
    files = write_report(place, output, paper)
    say({"case": place.case, "files": [str(file) for file in files]}, _lines, as_json=place.as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield bold(f"Report of case {twin['case']}")
    yield from (f"  {file}" for file in twin["files"])
