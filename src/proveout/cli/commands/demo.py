"""`proveout demo`."""

from __future__ import annotations

from pathlib import Path

import click

from proveout.cli.demo_lines import closing_lines, opening_lines, step_lines
from proveout.cli.demo_run import DemoRun
from proveout.cli.options import JobCommand, say, with_json


@click.command("demo", cls=JobCommand, examples=("proveout demo", "proveout demo -o my-demo --paper letter"))
@click.option(
    "-o",
    "--output",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("proveout-demo"),
    show_default=True,
    help="Folder for the case and its report; an earlier demo there is replaced.",
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", help="Paper of the print.")
@with_json
def demo(output: Path, paper: str, as_json: bool) -> None:
    """Run the whole job on an invented case.

    It follows the advice step by step; what the meter shows was computed beforehand by another program, a circuit
    simulator, from the faulted circuit.
    """
    run = DemoRun(output)
    opening = run.open()
    if not as_json:
        click.echo("\n".join(opening_lines(opening)))
    steps = []
    for step in run.steps():
        steps.append(step)
        if not as_json:
            click.echo("\n".join(step_lines(step)))
    twin = {"opening": opening, "steps": steps, **run.finish("letter" if paper == "letter" else "a4")}
    say(twin, closing_lines, as_json=as_json)
