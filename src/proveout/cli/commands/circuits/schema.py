"""`proveout circuits schema`."""

from __future__ import annotations

import json
from pathlib import Path

import click

from proveout.circuits.json_schema import chart_json_schema, circuit_json_schema
from proveout.cli.files import write_text
from proveout.cli.options import JobCommand, say, with_json


@click.command(
    "schema",
    cls=JobCommand,
    examples=("proveout circuits schema -o circuit.schema.json", "proveout circuits schema --service"),
)
@click.option("--service", is_flag=True, help="The schema of a service chart.")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="File to write; default: print.")
@with_json
def schema(service: bool, output: Path | None, as_json: bool) -> None:
    """Write the JSON Schema, for editors that complete and check."""
    found = chart_json_schema() if service else circuit_json_schema()
    if output is None:
        say(found, lambda twin: [json.dumps(twin, ensure_ascii=False, indent=2)], as_json=as_json)
        return
    write_text(output, json.dumps(found, ensure_ascii=False, indent=2) + "\n")
    say({"file": str(output)}, lambda twin: [f"{twin['file']} is written."], as_json=as_json)
