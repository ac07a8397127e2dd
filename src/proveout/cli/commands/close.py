"""`proveout close`."""

from __future__ import annotations

import click

from proveout.cases.events import Closed, made
from proveout.cli.options import JobCommand
from proveout.cli.simple_record import note_event
from proveout.cli.workplace import Workplace, with_workplace


@click.command("close", cls=JobCommand, examples=("proveout close", 'proveout close --because "taken home"'))
@click.option("--because", default="", help="Why it ends without a proven repair.")
@with_workplace
def close(place: Workplace, because: str) -> None:
    """Close the case."""
    proven = place.state().phase == "proven"
    note_event(place, made(Closed, proven=proven, because=because), "proveout report")
