"""`proveout circuits new`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from proveout.circuits.schema import Circuit
from proveout.circuits.sheet import new_sheet
from proveout.circuits.sheet_answers import Question, parse_answers, questions
from proveout.cli.circuit_source import read_source
from proveout.cli.files import write_text
from proveout.cli.lines import bold, columns, labelled
from proveout.cli.options import JobCommand, pairs, say, with_json
from proveout.errors import InputError

_ASKED = ("colour", "cavity")


@click.command(
    "new",
    cls=JobCommand,
    examples=(
        "proveout circuits new crank-hall-5v my-crank.yaml --ask",
        "proveout circuits new crank-hall-5v my-crank.yaml --set wire.w_sig.colour=GN/WH",
        "proveout circuits new crank-hall-5v my-crank.yaml --set access.intake.minutes=90",
        "proveout circuits new crank-hall-5v --keys",
    ),
)
@click.argument("base", metavar="NAME|FILE")
@click.argument("file", required=False, type=click.Path(dir_okay=False, path_type=Path))
@click.option("--set", "settings", multiple=True, metavar="KEY=VALUE", help="What differs on this vehicle; repeatable.")
@click.option("--ask", is_flag=True, help="Ask for the colours, cavities and access times, one by one.")
@click.option("--keys", is_flag=True, help="List what can be set, with what the base says now.")
@click.option("--replace", is_flag=True, help="Write over a file that is there.")
@with_json
def new(
    base: str, file: Path | None, settings: tuple[str, ...], ask: bool, keys: bool, replace: bool, as_json: bool
) -> None:
    """Make a vehicle's own sheet from a ready circuit.

    What is not set keeps its value and its source. The result is a whole circuit file that can be edited further.
    """
    source = read_source(base).circuit
    if keys:
        listed = [{"key": q.key, "title": q.title, "now": q.now, "form": q.form} for q in questions(source)]
        say({"base": source.name, "keys": listed}, _key_lines, as_json=as_json)
        return
    if file is None:
        raise click.UsageError("give the FILE to write, or --keys to see what can be set")
    if file.exists() and not replace:
        raise InputError(f"{file} is there already: choose another name, or --replace to write over it")
    given = pairs(settings, "KEY=VALUE, such as wire.w_sig.colour=GN/WH")
    if ask:
        given = {**_asked(source, given), **given}
    write_text(file, new_sheet(source, parse_answers(source, given.items())))
    say({"file": str(file), "base": source.name, "set": given}, _lines, as_json=as_json)


def _asked(base: Circuit, given: dict[str, str]) -> dict[str, str]:
    """Return the answers that differ from what the base says."""
    answers: dict[str, str] = {}
    for question in questions(base):
        if question.key not in given and _is_asked(question):
            answer = click.prompt(f"{question.title} ({question.form})", default=question.now, err=True)
            if answer != question.now:
                answers[question.key] = answer
    return answers


def _is_asked(question: Question) -> bool:
    return question.group in _ASKED or question.key.startswith("access.")


def _key_lines(twin: dict[str, Any]) -> Iterator[str]:
    yield from columns([(row["key"], row["now"] or "-", row["title"]) for row in twin["keys"]], "")


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield bold(f"{twin['file']} is written.")
    yield from labelled("Check it", "against the vehicle's own wiring diagram, then")
    yield from labelled("", f"proveout open --circuit {twin['file']}")
