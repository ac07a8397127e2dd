"""`proveout circuits draw`."""

from __future__ import annotations

from pathlib import Path

import click

from proveout.cli.circuit_source import read_source
from proveout.cli.files import write_text
from proveout.cli.options import JobCommand, say, with_json
from proveout.cli.progress import shown
from proveout.reports.schematic import draw_schematic


@click.command(
    "draw",
    cls=JobCommand,
    examples=(
        "proveout circuits draw crank-hall-5v -o crank.svg",
        "proveout circuits draw crank-hall-5v --measure reference_at_cs -o leads.svg",
    ),
)
@click.argument("circuit", metavar="NAME|FILE")
@click.option("--measure", "measurement", metavar="MEASUREMENT", help="Place the leads of this measurement.")
@click.option("--setup", metavar="SETUP", help="Draw connectors and switches as in this set-up.")
@click.option("--fault", metavar="PART.MODE", help="Mark a fault.")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: NAME.svg.")
@with_json
def draw(
    circuit: str, measurement: str | None, setup: str | None, fault: str | None, output: Path | None, as_json: bool
) -> None:
    """Draw the schematic, with the leads of a measurement."""
    source = read_source(circuit).circuit
    with shown("Drawing"):
        text = draw_schematic(source, measurement=measurement, setup=setup, fault=fault)
    path = write_text(output or Path(f"{source.name}.svg"), text)
    say({"file": str(path)}, lambda twin: [f"{twin['file']} is written."], as_json=as_json)
