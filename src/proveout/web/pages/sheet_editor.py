"""The editor of a vehicle's own sheet: field by field with the drawing beside it, or the file as text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from proveout.circuits.colours import parse_colours
from proveout.circuits.loading import read_circuit
from proveout.circuits.schema import Circuit
from proveout.circuits.sheet_answers import Question, questions
from proveout.circuits.sheet_edit import edit_sheet
from proveout.errors import CircuitError, InputError
from proveout.reports.schematic.colours import colour_name
from proveout.web.asked import Asked, page, posted
from proveout.web.circuit_source import CircuitSource, circuit_source
from proveout.web.languages import mark
from proveout.web.pages.circuits import mistake_rows

__all__ = ["ROUTES"]

SECTIONS = {
    "vehicle": mark("Vehicle and sheet"),
    "wire": mark("Wire colours"),
    "terminal": mark("Cavities"),
    "limit": mark("Limits of the manual"),
    "access": mark("Minutes of dismantling"),
    "repair": mark("Repairs: minutes and parts"),
}
HINTS = {
    "name": mark("small letters, digits and dashes"),
    "text": "",
    "year": mark("four digits"),
    "colour": mark("base colour, then the stripe: RD/WH"),
    "cavity": "",
    "limit": mark("4.8..5.2, ..1 (at most), 10k.. (at least) or OL"),
    "amount": "",
}


def make(asked: Asked) -> Response:
    """Make a sheet from a ready circuit, or a copy of a sheet, and go on to fill it in."""
    source = circuit_source(asked)
    edit = edit_sheet(source.circuit, {"name": f"{source.circuit.based_on or source.circuit.name}-own"})
    with asked.bench.writing:
        number = asked.bench.sheets.add(edit.text or source.text)
    return asked.go(f"/sheets/{number}/edit")


def edit(asked: Asked) -> Response:
    """Show the editor."""
    return _editor(asked, circuit_source(asked))


def save(asked: Asked) -> Response:
    """Take over what fits of the fields that were sent, keep the rest as it was typed, and show both."""
    number = _number(asked)
    with asked.bench.writing:
        source = circuit_source(asked)
        known = {question.key for question in questions(source.circuit)}
        typed = {key: value for key, value in asked.form.items() if isinstance(value, str) and key in known}
        waiting = {**asked.bench.sheets.open_answers(number), **typed}
        done = edit_sheet(source.circuit, {key: text for key, text in waiting.items() if key in known})
        if done.text:
            asked.bench.sheets.put(number, done.text)
        asked.bench.sheets.keep_open(number, {key: waiting[key] for key in done.wrong})
    if not done.wrong and not asked.exchanged:
        return asked.go(f"/sheets/{number}/edit#{asked.text('section') or 'main'}")
    return _editor(asked, circuit_source(asked), done.wrong)


def text(asked: Asked) -> Response:
    """Show the file as text."""
    return _as_text(asked, circuit_source(asked))


def save_text(asked: Asked) -> Response:
    """Write the file anew from its text; with mistakes the text is kept aside and each mistake is shown by line."""
    number, typed = _number(asked), str(asked.form.get("text", "")).replace("\r\n", "\n")
    with asked.bench.writing:
        source = circuit_source(asked)
        try:
            asked.bench.sheets.put(number, typed)
        except CircuitError as error:
            asked.bench.sheets.keep_open(number, asked.bench.sheets.open_answers(number), typed)
            return _as_text(asked, source, error)
        asked.bench.sheets.keep_open(number, {})
    return asked.go(f"/sheets/{number}")


def _editor(asked: Asked, source: CircuitSource, wrong: Mapping[str, str] | None = None) -> Response:
    waiting = asked.bench.sheets.open_answers(source.sheet or 0)
    faults = edit_sheet(source.circuit, waiting).wrong if wrong is None else wrong
    rows = list(_fields(source.circuit, waiting, faults))
    twin = {**source.twin, "title": source.circuit.title, "fields": rows, "wrong": dict(faults)}
    more = {
        "drawing": asked.bench.schematics.draw(source.circuit, source.text),
        "sections": SECTIONS,
        "hints": HINTS,
        "open_text": bool(asked.bench.sheets.open_text(source.sheet or 0)),
    }
    return asked.show("sheet_edit.html", twin, status=422 if wrong else 200, more=more)


def _fields(circuit: Circuit, waiting: Mapping[str, str], faults: Mapping[str, str]) -> Iterator[dict[str, Any]]:
    """Yield each field: what the sheet says, or what was typed and does not fit yet, with its error."""
    for number, question in enumerate(questions(circuit)):
        now = circuit.name if question.key == "name" else question.now
        value = waiting[question.key] if question.key in faults and question.key in waiting else now
        group = question.key.partition(".")[0]
        yield {
            "id": f"f{number}",
            "key": question.key,
            "section": group if group in SECTIONS else "vehicle",
            "title": question.title,
            "unit": question.form if question.group == "amount" else "",
            "form": question.group,
            "value": value,
            "wrong": faults.get(question.key, ""),
            "read_as": _read_as(question, value),
        }


def _read_as(question: Question, value: str) -> str:
    """Return a colour in words, empty for every other answer and for what is no colour."""
    if question.group != "colour" or not value:
        return ""
    try:
        return ", ".join(colour_name(code) for code in parse_colours(value))
    except InputError:
        return ""


def _as_text(asked: Asked, source: CircuitSource, error: CircuitError | None = None) -> Response:
    typed = asked.bench.sheets.open_text(source.sheet or 0)
    if typed and error is None:
        error = _mistakes(asked, typed)
    twin = {
        **source.twin,
        "title": source.circuit.title,
        "message": str(error).partition("\n")[0] if error else "",
        "mistakes": mistake_rows(error.mistakes) if error else [],
    }
    shown = typed or source.text
    more = {"text": shown, "lines": shown.count("\n") + 1}
    return asked.show("sheet_text.html", twin, status=422 if error else 200, more=more)


def _mistakes(asked: Asked, typed: str) -> CircuitError | None:
    try:
        read_circuit(typed, asked._("the sheet"))
    except CircuitError as error:
        return error
    return None


def _number(asked: Asked) -> int:
    number = int(asked.request.path_params["sheet"])
    if number not in asked.bench.sheets.numbers():
        raise HTTPException(404)
    return number


ROUTES = (
    *posted("/circuits/{name}/sheet", make),
    *posted("/sheets/{sheet:int}/sheet", make),
    *page("/sheets/{sheet:int}/edit", edit),
    *posted("/sheets/{sheet:int}/edit", save),
    *page("/sheets/{sheet:int}/text", text),
    *posted("/sheets/{sheet:int}/text", save_text),
)
