"""`proveout note`."""

from __future__ import annotations

import click

from proveout.cases.events import Note, made
from proveout.cli.options import JobCommand
from proveout.cli.simple_record import note_event
from proveout.cli.workplace import Workplace, with_workplace


@click.command("note", cls=JobCommand, examples=('proveout note "customer waits in the shop"',))
@click.argument("text", nargs=-1, required=True)
@with_workplace
def note(place: Workplace, text: tuple[str, ...]) -> None:
    """Write a remark into the case."""
    note_event(place, made(Note, text=" ".join(text)))
