"""The options that many commands share, and how a command says its result."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

import click

from proveout.cases.plain_data import plain_data
from proveout.cli.examples import WithExamples

__all__ = ["AMOUNT", "JobCommand", "pairs", "say", "with_json"]

Command = TypeVar("Command", bound=Callable[..., Any])
AMOUNT = click.FloatRange(min=0.0)
_NUMBER = re.compile(r"-[0-9.,].*")
_MINUS = "\u2212"


class JobCommand(WithExamples):
    """A command that takes a negative number for what it is and not for an option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the arguments; a minus before a digit becomes a true minus sign where no option's value stands."""
        options = [p for p in self.params if isinstance(p, click.Option) and not p.is_flag]
        valued = {name for option in options for name in option.opts}
        signed = [
            _MINUS + arg[1:] if _NUMBER.fullmatch(arg) and before not in valued else arg
            for before, arg in zip(["", *args], args, strict=False)
        ]
        return super().parse_args(ctx, signed)


def with_json(command: Command) -> Command:
    """Add `--json`."""
    return click.option("--json", "as_json", is_flag=True, help="Print the result as JSON.")(command)


def say(twin: Mapping[str, Any], lines: Callable[[Any], Iterable[str]], *, as_json: bool) -> None:
    """Print a result: its data as JSON, or the lines made from it."""
    if as_json:
        click.echo(json.dumps(plain_data(twin), ensure_ascii=False, indent=2, allow_nan=False))
    else:
        click.echo("\n".join(lines(twin)))


def pairs(texts: Iterable[str], form: str) -> dict[str, str]:
    """Return `NAME=VALUE` texts as a mapping.

    Raises
    ------
    click.UsageError
        A text has no `=`, or a name comes twice.
    """
    found: dict[str, str] = {}
    for text in texts:
        name, sign, value = text.partition("=")
        if not sign or not name.strip():
            raise click.UsageError(f"'{text}' is not {form}")
        if name.strip() in found:
            raise click.UsageError(f"'{name.strip()}' is given twice")
        found[name.strip()] = value.strip()
    return found
