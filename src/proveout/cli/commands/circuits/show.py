"""`proveout circuits show`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import click

from proveout.cases.twins import circuit_twin
from proveout.cli.circuit_source import read_source
from proveout.cli.lines import bold, columns, labelled, paragraph
from proveout.cli.options import JobCommand, say, with_json
from proveout.cli.steps_lines import steps_lines


@click.command(
    "show", cls=JobCommand, examples=("proveout circuits show crank-hall-5v", "proveout circuits show my-crank.yaml")
)
@click.argument("circuit", metavar="NAME|FILE")
@with_json
def show(circuit: str, as_json: bool) -> None:
    """Show a circuit: connectors, behaviours, steps, repairs."""
    say(circuit_twin(read_source(circuit).circuit), _lines, as_json=as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield bold(f"{twin['name']}: {twin['title']}")
    yield from paragraph(twin["about"])
    yield from labelled("Based on", twin["based_on"])
    for connector in twin["connectors"]:
        yield bold(f"{connector['connector']}: {connector['title']}")
        yield from columns([(c["cavity"], c["colours"] or "-", c["function"]) for c in connector["cavities"]])
    yield from steps_lines(twin)
    yield from labelled("Proof", f"after a repair: proveout proof OUTCOME of {twin['proof']}")
