"""The group `proveout warmup`."""

from __future__ import annotations

import click

from proveout.cli.lazy_group import Entry, LazyGroup

__all__ = ["warmup"]

_COMMANDS = {
    "Commands": (
        Entry("read", "read:read_trace", "Fit a warm-up and say what it tells of the thermostat, with no case."),
        Entry("attach", "attach:attach", "Fit a warm-up and enter what it tells into the case, as readings."),
    )
}


@click.group(
    "warmup",
    cls=LazyGroup,
    sections=_COMMANDS,
    package="proveout.cli.commands.warmup",
    examples=("proveout warmup read drive.csv", "proveout warmup attach drive.csv"),
)
def warmup() -> None:
    """Logged warm-ups: where the thermostat opens, how much it leaks."""
