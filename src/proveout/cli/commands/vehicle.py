"""`proveout vehicle`."""

from __future__ import annotations

import click

from proveout.cases.events import VehicleNoted, made
from proveout.cli.options import JobCommand
from proveout.cli.simple_record import note_event
from proveout.cli.workplace import Workplace, with_workplace


@click.command(
    "vehicle",
    cls=JobCommand,
    examples=('proveout vehicle away --because "comes back on Thursday"', "proveout vehicle here"),
)
@click.argument("where", type=click.Choice(["here", "away"]))
@click.option("--because", default="", help="Why it is away, until when.")
@with_workplace
def vehicle(place: Workplace, where: str, because: str) -> None:
    """Note that the vehicle is here, or that it is waited for.

    A case waits from 'away' on until 'here', or until work on the vehicle is noted.
    """
    note_event(place, made(VehicleNoted, here=where == "here", because=because))
