"""`proveout show`."""

from __future__ import annotations

import click

from proveout.cases.history import believe
from proveout.cases.twins import state_twin
from proveout.cli.options import JobCommand, say
from proveout.cli.state_lines import state_lines
from proveout.cli.workplace import Workplace, with_workplace


@click.command("show", cls=JobCommand, examples=("proveout show", "proveout show 12", "proveout show RO-4711 --json"))
@click.argument("case", required=False)
@with_workplace
def show(place: Workplace, case: str | None) -> None:
    """Show a case at a glance."""
    place.about(case)
    state = place.state()
    suspects = believe(place.model(state), state).suspects()
    say(state_twin(place.case, state, suspects), state_lines, as_json=place.as_json)
