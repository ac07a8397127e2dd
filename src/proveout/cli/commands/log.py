"""`proveout log`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import click

from proveout.cases.case import replay
from proveout.cases.twins import log_twin
from proveout.cli.lines import columns
from proveout.cli.options import JobCommand, say
from proveout.cli.workplace import Workplace, with_workplace


@click.command("log", cls=JobCommand, examples=("proveout log", "proveout log 12", "proveout log --case 12 --unsealed"))
@click.argument("case", required=False)
@click.option("--unsealed", is_flag=True, help="Read a store whose seals are broken as it stands.")
@with_workplace
def log(place: Workplace, case: str | None, unsealed: bool) -> None:
    """List every event of a case with its number.

    Nothing is ever changed or removed: a corrected event stays, with the number of its correction.
    """
    place.about(case)
    events = place.desk.store.events(place.case, sealed=not unsealed)
    say(log_twin(place.case, events, replay(events).circuit), _lines, as_json=place.as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield f"Case {twin['case']}"
    yield from columns(
        [
            (
                str(event["number"]).rjust(3),
                event["at"][:16].replace("T", " "),
                event["text"] + (f"  [corrected by {event['corrected_by']}]" if event["corrected_by"] else ""),
            )
            for event in twin["events"]
        ],
        "",
    )
