"""`proveout circuits check`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from proveout.circuits.loading import load_chart, load_circuit
from proveout.circuits.repairs import fault_modes
from proveout.cli.lines import bold, labelled
from proveout.cli.options import JobCommand, say, with_json


@click.command(
    "check",
    cls=JobCommand,
    examples=("proveout circuits check my-crank.yaml", "proveout circuits check my-crank.yaml --service my-chart.yaml"),
)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--service", type=click.Path(path_type=Path), help="A service chart of this circuit, checked too.")
@with_json
def check(file: Path, service: Path | None, as_json: bool) -> None:
    """Check a circuit file; every mistake is reported at once.

    Each mistake comes with its line, what was found, what was expected and what to write instead. Exit code 2 then.
    """
    circuit = load_circuit(file)
    chart = load_chart(service, circuit) if service else None
    twin = {
        "file": str(file),
        "circuit": circuit.name,
        "parts": len(circuit.parts),
        "measurements": len(circuit.measurements),
        "faults": sum(1 for _ in fault_modes(circuit)),
        "service": len(chart.steps) if chart else None,
    }
    say(twin, _lines, as_json=as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield bold(f"{twin['file']}: no mistakes")
    counts = f"{twin['parts']} parts, {twin['faults']} fault modes, {twin['measurements']} measurements"
    yield from labelled("It has", counts)
    if twin["service"]:
        yield from labelled("Chart", f"{twin['service']} steps, no mistakes")
