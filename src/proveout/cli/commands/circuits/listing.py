"""`proveout circuits list`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import click

from proveout.circuits.library import chart_names, ready_titles
from proveout.cli.lines import columns
from proveout.cli.options import JobCommand, say, with_json


@click.command("list", cls=JobCommand, examples=("proveout circuits list", "proveout circuits list --json"))
@with_json
def list_circuits(as_json: bool) -> None:
    """List the ready circuits."""
    charts = chart_names()
    listed = [{"name": name, "title": title, "chart": name in charts} for name, title in ready_titles().items()]
    say({"circuits": listed}, _lines, as_json=as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield from columns([(circuit["name"], circuit["title"]) for circuit in twin["circuits"]], "")
