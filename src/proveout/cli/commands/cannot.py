"""`proveout cannot`."""

from __future__ import annotations

import click

from proveout.cases.events import CannotDo, made
from proveout.cli.options import JobCommand
from proveout.cli.simple_record import note_event
from proveout.cli.workplace import Workplace, with_workplace


@click.command("cannot", cls=JobCommand, examples=('proveout cannot look_at_ce --because "seal, warranty"',))
@click.argument("name")
@click.option("--because", required=True, help="Why.")
@with_workplace
def cannot(place: Workplace, name: str, because: str) -> None:
    """Say that a step cannot be done on this vehicle.

    NAME may be an access operation too: then every step that needs it is out.
    """
    note_event(place, made(CannotDo, name=name, because=because))
