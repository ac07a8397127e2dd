"""`proveout next`."""

from __future__ import annotations

import click

from proveout.cases.advice_record import advice_event
from proveout.cases.history import believe
from proveout.cases.next_action import next_action
from proveout.cases.twins import next_twin
from proveout.cli.next_lines import next_lines
from proveout.cli.options import JobCommand, say
from proveout.cli.workplace import Workplace, with_workplace


@click.command("next", cls=JobCommand, examples=("proveout next", "proveout next --others", "proveout next 12 --json"))
@click.argument("case", required=False)
@click.option("--others", is_flag=True, help="Show the next best steps too.")
@click.option("--why", is_flag=True, help="Show what each result would leave and rule out, at length.")
@with_workplace
def next_step(place: Workplace, case: str | None, others: bool, why: bool) -> None:
    """Say what to do next, how, why, and what each result would leave."""
    place.about(case)
    state = place.state()
    belief = believe(place.model(state), state)
    action = next_action(belief, state)
    event = advice_event(action)
    if event is not None and event != state.advised:
        place.record(event)
    say(
        next_twin(place.case, state, action),
        lambda twin: next_lines(twin, others=others, why=why),
        as_json=place.as_json,
    )
