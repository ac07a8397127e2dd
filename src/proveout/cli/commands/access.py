"""`proveout access`."""

from __future__ import annotations

import click

from proveout.cases.events import AccessDone, made
from proveout.cli.options import AMOUNT, JobCommand
from proveout.cli.simple_record import note_event
from proveout.cli.workplace import Workplace, with_workplace


@click.command("access", cls=JobCommand, examples=("proveout access intake", "proveout access intake --minutes 70"))
@click.argument("name")
@click.option("--minutes", type=AMOUNT, help="The real time it took, with all that had to come off before.")
@with_workplace
def access(place: Workplace, name: str, minutes: float | None) -> None:
    """Note that something was dismantled.

    A step that needs access notes it by itself; this is for real times, and for what was open when the vehicle came.
    """
    note_event(place, made(AccessDone, name=name, minutes=minutes))
