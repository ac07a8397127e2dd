"""`proveout setup`."""

from __future__ import annotations

import click

from proveout.cases.events import SetupDone, made
from proveout.cli.options import AMOUNT, JobCommand
from proveout.cli.simple_record import note_event
from proveout.cli.workplace import Workplace, with_workplace


@click.command("setup", cls=JobCommand, examples=("proveout setup key_on", "proveout setup cranking --minutes 2"))
@click.argument("name")
@click.option("--minutes", type=AMOUNT, help="The real time it took.")
@with_workplace
def setup(place: Workplace, name: str, minutes: float | None) -> None:
    """Note the set-up that the vehicle is in.

    A step notes its set-up by itself; this is for a vehicle that stands otherwise than the record says.
    """
    note_event(place, made(SetupDone, name=name, minutes=minutes))
