"""`proveout finding`."""

from __future__ import annotations

import click

from proveout.cases.findings import accept
from proveout.cases.history import believe
from proveout.cli.options import JobCommand
from proveout.cli.simple_record import note_event
from proveout.cli.workplace import Workplace, with_workplace


@click.command(
    "finding",
    cls=JobCommand,
    examples=("proveout finding", "proveout finding w_sig", 'proveout finding w_sig --because "chafed, seen"'),
)
@click.argument("suspect", required=False)
@click.option("--because", default="", help="Why, where the evidence alone does not carry it.")
@with_workplace
def finding(place: Workplace, suspect: str | None, because: str) -> None:
    """Take a suspect as the cause.

    Without SUSPECT it is the one advised to be repaired, else the leading one. A guess does not pass as a finding:
    below 97 % it needs --because, unless the advice was to stop testing and repair it.
    """
    state = place.state()
    event = accept(believe(place.model(state), state), state, suspect, because)
    note_event(place, event, f"proveout repair {event.suspect}")
