"""`proveout sheet`."""

from __future__ import annotations

import click

from proveout.cases.circuit_change import put_right
from proveout.cli.circuit_source import Source, chosen_event, read_source
from proveout.cli.options import JobCommand, pairs
from proveout.cli.simple_record import note_event
from proveout.cli.workplace import Workplace, with_workplace


@click.command(
    "sheet",
    cls=JobCommand,
    examples=("proveout sheet --set wire.w_sig.colour=YE/BN", "proveout sheet my-crank.yaml"),
)
@click.argument("file", required=False, metavar="[NAME|FILE]")
@click.option("--set", "settings", multiple=True, metavar="KEY=VALUE", help="Another value on the sheet; repeatable.")
@with_workplace
def sheet(place: Workplace, file: str | None, settings: tuple[str, ...]) -> None:
    """Put the case's circuit right, or take another one.

    The whole case is read anew with it. The keys that can be set: proveout circuits new NAME --keys.
    """
    if file is None and not settings:
        raise click.UsageError("give a FILE, or what to put right with --set KEY=VALUE")
    state = place.state()
    source = read_source(file) if file else Source(state.circuit, state.text)
    given = pairs(settings, "KEY=VALUE, such as wire.w_sig.colour=YE/BN")
    note_event(place, put_right(source.circuit, given) if given else chosen_event(source))
