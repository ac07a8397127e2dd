"""`proveout correct`."""

from __future__ import annotations

import json
from typing import Any

import click

from proveout.cases.corrections import check_number
from proveout.cases.entering import reread
from proveout.cases.events import Correction, Event, ReadingNoted, made
from proveout.cli.corrected import note_correction
from proveout.cli.options import JobCommand, pairs
from proveout.cli.workplace import Workplace, with_workplace
from proveout.errors import InputError


@click.command(
    "correct",
    cls=JobCommand,
    examples=(
        "proveout correct 7 --value 4.89",
        'proveout correct 7 --withdraw --because "wrong cavity"',
        "proveout correct 1 --set labour_rate=96",
    ),
)
@click.argument("number", type=int)
@click.option("--value", help="For a reading: what the display showed.")
@click.option("--set", "settings", multiple=True, metavar="FIELD=VALUE", help="Another value of a field; repeatable.")
@click.option("--withdraw", is_flag=True, help="Take the entry back.")
@click.option("--because", default="", help="Why.")
@with_workplace
def correct(
    place: Workplace, number: int, value: str | None, settings: tuple[str, ...], withdraw: bool, because: str
) -> None:
    """Put an earlier entry right, or take it back.

    The entry stays in the record; what counts is the correction. 'proveout log' gives the numbers and the fields.
    """
    changes = _changes(place, number, value, settings)
    if withdraw == bool(changes):
        raise click.UsageError("give --value, --set or --withdraw: one of the three ways to put an entry right")
    payload = place.desk.replacement(place.case, number, changes).payload if changes else None
    note_correction(place, made(Correction, corrects=number, payload=payload, because=because))


def _changes(place: Workplace, number: int, value: str | None, settings: tuple[str, ...]) -> dict[str, object]:
    given = pairs(settings, "FIELD=VALUE, such as labour_rate=96")
    changes: dict[str, object] = {name: _read(text) for name, text in given.items()}
    if value is not None:
        changes.update(_reading(place, number, value.replace("\u2212", "-")))
    return changes


def _read(text: str) -> Any:
    """Return a number, a truth value or a list as JSON writes it; anything else is text."""
    try:
        return json.loads(text)
    except ValueError:
        return text


def _reading(place: Workplace, number: int, value: str) -> dict[str, object]:
    check_number(place.desk.events(place.case), number)
    state = place.state()
    event: Event | None = next((e.event for e in state.entries if e.number == number), None)
    if not isinstance(event, ReadingNoted):
        raise InputError(f"entry {number} is no reading: use --set FIELD=VALUE; 'proveout log' lists the entries")
    return reread(state, event, value)
