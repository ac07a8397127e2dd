"""`proveout steps`."""

from __future__ import annotations

import click

from proveout.cases.twins import steps_twin
from proveout.cli.options import JobCommand, say
from proveout.cli.steps_lines import KINDS, steps_lines
from proveout.cli.workplace import Workplace, with_workplace


@click.command("steps", cls=JobCommand, examples=("proveout steps", "proveout steps --only look"))
@click.option("--only", type=click.Choice(KINDS), help="One kind of names.", default=None)
@with_workplace
def steps(place: Workplace, only: str | None) -> None:
    """List what can be measured, looked at, tried and repaired, by name."""
    twin = steps_twin(place.state().circuit)
    say(twin, lambda data: steps_lines(data, only), as_json=place.as_json)
