"""`proveout use`."""

from __future__ import annotations

import click

from proveout.cli.lines import bold
from proveout.cli.options import JobCommand, say
from proveout.cli.workplace import Workplace, with_store


@click.command("use", cls=JobCommand, examples=("proveout use 12", "proveout use RO-4711"))
@click.argument("case")
@with_store
def use(place: Workplace, case: str) -> None:
    """Choose the current case."""
    number = place.desk.find(case)
    place.desk.store.make_current(number)
    say({"case": number}, lambda twin: [bold(f"Case {twin['case']} is the current one.")], as_json=place.as_json)
