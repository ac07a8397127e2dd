"""`proveout undo`."""

from __future__ import annotations

import click

from proveout.cases.events import Correction, made
from proveout.cli.corrected import note_correction
from proveout.cli.options import JobCommand
from proveout.cli.workplace import Workplace, with_workplace


@click.command("undo", cls=JobCommand, examples=("proveout undo", 'proveout undo --because "wrong cavity"'))
@click.option("--because", default="", help="Why.")
@with_workplace
def undo(place: Workplace, because: str) -> None:
    """Take the last entry back.

    It stays in the record, with the correction behind it. 'proveout correct N --withdraw' takes back an earlier one.
    """
    number = place.desk.last_undoable(place.case).number
    note_correction(place, made(Correction, corrects=number, because=because))
