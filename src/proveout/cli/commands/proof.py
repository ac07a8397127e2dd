"""`proveout proof`."""

from __future__ import annotations

import click

from proveout.cases.findings import prove
from proveout.cli.effect import effect_twin
from proveout.cli.options import AMOUNT, JobCommand, say
from proveout.cli.record_lines import effect_lines
from proveout.cli.workplace import Workplace, with_workplace


@click.command("proof", cls=JobCommand, examples=("proveout proof normal", "proveout proof late --minutes 3"))
@click.argument("outcome")
@click.option("--minutes", type=AMOUNT, help="The real time it took.")
@with_workplace
def proof(place: Workplace, outcome: str, minutes: float | None) -> None:
    """Note what the vehicle does after the repair.

    OUTCOME is one of the circuit's proof behaviour; 'proveout next' shows them after a repair. Readings noted between
    the repair and its proof stand beside it in the report.
    """
    event = prove(place.state(), outcome, minutes)
    say(effect_twin(place, place.record(event)), effect_lines, as_json=place.as_json)
