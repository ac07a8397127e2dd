"""The group `proveout circuits`."""

from __future__ import annotations

import click

from proveout.cli.lazy_group import Entry, LazyGroup

__all__ = ["circuits"]

_COMMANDS = {
    "Commands": (
        Entry("list", "listing:list_circuits", "List the ready circuits."),
        Entry("show", "show:show", "Show a circuit: connectors, behaviours, steps, repairs."),
        Entry("new", "new:new", "Make a vehicle's own sheet from a ready circuit."),
        Entry("check", "check:check", "Check a circuit file; every mistake is reported at once."),
        Entry("schema", "schema:schema", "Write the JSON Schema, for editors that complete and check."),
        Entry("draw", "draw:draw", "Draw the schematic, with the leads of a measurement."),
    )
}


@click.group(
    "circuits",
    cls=LazyGroup,
    sections=_COMMANDS,
    package="proveout.cli.commands.circuits",
    examples=("proveout circuits list", "proveout circuits show crank-hall-5v"),
)
def circuits() -> None:
    """Ready circuits: list, show, new, check, schema, draw."""
