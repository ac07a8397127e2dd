"""`proveout harness`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import click

from proveout.cases.entering import harness_event
from proveout.cases.permission import put_right_command
from proveout.cases.twins import connector_twin, recorded_twin
from proveout.circuits.colours import colour_text
from proveout.circuits.harness import expected_cavities
from proveout.circuits.schema import Circuit
from proveout.cli.lines import columns, labelled
from proveout.cli.options import AMOUNT, JobCommand, pairs, say
from proveout.cli.record_lines import record_lines
from proveout.cli.workplace import Workplace, with_workplace


@click.command(
    "harness",
    cls=JobCommand,
    examples=("proveout harness CS", "proveout harness CS 1=RD/GY 2=BK/GN 3=yellow/blue", "proveout harness CS 4=-"),
)
@click.argument("connector")
@click.argument("cavities", nargs=-1, metavar="[CAVITY=COLOURS]...")
@click.option("--minutes", type=AMOUNT, help="The real time it took.")
@with_workplace
def harness(place: Workplace, connector: str, cavities: tuple[str, ...], minutes: float | None) -> None:
    """Compare a connector's colours with the sheet, before any probe.

    Without colours it shows what the sheet expects. Base colour first, then the stripe: RD/WH, red/white. A cavity
    without a wire is '-'.
    """
    state = place.state()
    seen = pairs(cavities, "CAVITY=COLOURS, such as 3=RD/WH")
    if not seen:
        say(connector_twin(state.circuit, connector), _sheet_lines, as_json=place.as_json)
        return
    done = place.record(harness_event(state, connector, seen, minutes))
    now = done.after.harness[connector]
    twin = {
        **recorded_twin(place.case, done),
        "agrees": now.agrees,
        "complete": now.complete,
        "unseen": list(now.unseen),
        "look_again": _missing(done.after.circuit, connector, now.unseen),
        "mismatches": [str(mismatch) for mismatch in now.mismatches],
        "put_right": "" if now.agrees else put_right_command(state.circuit, now),
    }
    say(twin, _lines, as_json=place.as_json)


def _missing(circuit: Circuit, connector: str, unseen: Sequence[str]) -> str:
    """Return the command that notes the cavities left; `-` where the sheet has no colour to compare."""
    left = [item for item in expected_cavities(circuit, connector) if item.cavity in unseen]
    cavities = [f"{item.cavity}={colour_text(item.colours) or '-'}" for item in left]
    return " ".join(["proveout harness", connector, *cavities]) if left else ""


def _sheet_lines(twin: dict[str, Any]) -> Iterator[str]:
    yield f"{twin['connector']}: {twin['title']}"
    yield from columns([(c["cavity"], c["colours"] or "-", c["function"]) for c in twin["cavities"]])


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield from record_lines(twin)
    for mismatch in twin["mismatches"]:
        yield from labelled("MISMATCH", mismatch)
    if twin["mismatches"]:
        yield from labelled("Blocked", "no probing here until you have looked again or put the sheet right")
        yield from labelled("Then", twin["put_right"])
    elif twin["unseen"]:
        yield from labelled("Still", f"look at cavity {', '.join(twin['unseen'])} before you probe here")
        yield from labelled("Then type", twin["look_again"])
        yield from labelled("", "with the colours that you see")
    else:
        yield from labelled("Then", "proveout next")
