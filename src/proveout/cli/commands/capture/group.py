"""The group `proveout capture`."""

from __future__ import annotations

import click

from proveout.cli.lazy_group import Entry, LazyGroup

__all__ = ["capture"]

_COMMANDS = {
    "Commands": (
        Entry("read", "read:read_file", "Read a recording and say what it shows, with no case and no settings."),
        Entry("attach", "attach:attach", "Attach a recording to the case at a measurement, as evidence."),
        Entry("compare", "compare:compare_files", "Compare a recording with a known-good one, or with the one before."),
    )
}


@click.group(
    "capture",
    cls=LazyGroup,
    sections=_COMMANDS,
    package="proveout.cli.commands.capture",
    examples=(
        "proveout capture read crank.csv",
        "proveout capture attach crank.csv signal_low_at_ce",
        "proveout capture compare crank.csv good.csv",
    ),
)
def capture() -> None:
    """Recorded signals: read, attach, compare."""
