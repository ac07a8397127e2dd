"""A group of commands that are imported only when they are run, so that a command starts quickly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from importlib import import_module
from typing import Any

import click

from proveout.cli.examples import WithExamples

__all__ = ["Entry", "LazyGroup"]


@dataclass(frozen=True)
class Entry:
    """A command: its name, where it is (`module:attribute`), and what it does in one sentence."""

    name: str
    place: str
    does: str


class LazyGroup(WithExamples, click.Group):
    """A group whose commands stand in sections and are imported from `package` when they are needed."""

    def __init__(self, *args: Any, sections: Mapping[str, Sequence[Entry]], package: str, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.sections = sections
        self._package = package
        self._entries = {entry.name: entry for entries in sections.values() for entry in entries}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of the commands in the order of the job."""
        return list(self._entries)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return a command, None when there is none of that name."""
        entry = self._entries.get(cmd_name)
        if entry is None:
            return None
        module, _, attribute = entry.place.partition(":")
        command: click.Command = getattr(import_module(f"{self._package}.{module}"), attribute)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that was typed; one that does not exist is answered with the nearest."""
        name = args[0]
        if name not in self._entries and not name.startswith("-"):
            near = get_close_matches(name.casefold(), self._entries, n=1)
            advice = f"did you mean '{near[0]}'?" if near else f"there are: {', '.join(self._entries)}"
            raise click.UsageError(f"no command '{name}'; {advice}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the commands by section, without importing them."""
        for title, entries in self.sections.items():
            with formatter.section(title):
                formatter.write_dl([(entry.name, entry.does) for entry in entries])
