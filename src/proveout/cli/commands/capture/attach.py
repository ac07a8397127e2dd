"""`proveout capture attach`."""

from __future__ import annotations

from pathlib import Path

import click

from proveout.captures.archive import Archive
from proveout.captures.readers import Overrules
from proveout.cases.attaching import attach_file
from proveout.cli.capture_overrules import channel_roles, with_overrules
from proveout.cli.effect import effect_twin
from proveout.cli.options import AMOUNT, JobCommand, say
from proveout.cli.record_lines import effect_lines
from proveout.cli.workplace import Workplace, with_workplace

__all__ = ["attach"]


@click.command(
    "attach",
    cls=JobCommand,
    examples=(
        "proveout capture attach crank.csv signal_low_at_ce",
        "proveout capture attach crank.csv signal_swing_at_cs --channel Crank --attenuation Crank=10",
        "proveout capture attach crank.csv signal_low_at_ce --wiggled --note 'with the heater blower on'",
    ),
)
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("measurement")
@click.option("--channel", help="The channel that was at the leads of the measurement, where several could be.")
@click.option("--wiggled", is_flag=True, help="The harness was wiggled, warmed or shaken while it was recorded.")
@click.option("--note", default="", help="A remark about the recording.")
@click.option("--minutes", type=AMOUNT, help="The real time the step took, access and set-up included.")
@with_overrules
@with_workplace
def attach(
    place: Workplace,
    file: Path,
    measurement: str,
    channel: str | None,
    wiggled: bool,
    note: str,
    minutes: float | None,
    overrules: Overrules,
    roles: dict[str, str],
) -> None:
    """Attach a recorded signal to the case, as evidence.

    MEASUREMENT is the one whose set-up and leads the recording was made with; 'proveout steps' lists them. The levels
    of the signal count as readings there, and a signal that is lost now and then speaks for a fault that comes and
    goes. The file itself is kept unaltered under its fingerprint.
    """
    event = attach_file(
        place.state(),
        Archive(place.captures),
        file,
        measurement,
        overrules=overrules,
        roles=channel_roles(roles, overrules),
        channel=channel,
        note=note,
        minutes=minutes,
        disturbed=wiggled,
    )
    say(effect_twin(place, place.record(event)), effect_lines, as_json=place.as_json)
