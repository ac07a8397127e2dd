"""The forms of a case: each notes one event, judged against the entries that its window had seen."""

from __future__ import annotations

from collections.abc import Callable

from starlette.datastructures import UploadFile
from starlette.responses import Response

from proveout.cases.circuit_change import chosen, put_right, seen_settings
from proveout.cases.entering import harness_event, outcome_event, reading_event, reread
from proveout.cases.events import (
    AccessDone,
    CannotDo,
    Closed,
    Correction,
    Event,
    Note,
    ReadingNoted,
    RepairNoted,
    SetupDone,
    VehicleNoted,
    made,
)
from proveout.cases.findings import accept, prove
from proveout.cases.names import find_access, find_setup
from proveout.cases.repair_work import suspect_of
from proveout.circuits.colours import colour_text
from proveout.circuits.harness import expected_cavities
from proveout.circuits.library import ready_circuit, ready_text
from proveout.circuits.loading import read_circuit
from proveout.errors import InputError, ProveoutError
from proveout.web.asked import Asked, Handler, posted
from proveout.web.case_view import Trouble, missed_entries
from proveout.web.pages.case import case_page, keep_advice
from proveout.web.standing import Standing

__all__ = ["ROUTES"]

Make = Callable[[Asked, Standing], Event]
_OWN = ("token", "seen", "do")


def _noting(form: str, make: Make) -> Handler:
    """Return the handler of a form: it notes an event, or shows the page again with what was typed and why."""

    def handle(asked: Asked) -> Response:
        with asked.bench.writing:
            standing = asked.bench.case(asked.case)
            missed = missed_entries(standing, _seen(asked, standing))
            if missed:
                return case_page(asked, standing, asked.text("do"), Trouble(form, "", missed, _typed(asked)))
            if standing.shown.is_set():
                # What was shown is kept before what was done upon it.
                keep_advice(asked.bench, standing)
                standing = asked.bench.case(asked.case)
            try:
                asked.bench.desk.record(asked.case, make(asked, standing))
            except ProveoutError as error:
                return case_page(asked, standing, asked.text("do"), Trouble(form, str(error), (), _typed(asked)))
        address = f"/cases/{asked.case}"
        if not asked.exchanged:
            return asked.go(address)
        answer = case_page(asked, asked.bench.case(asked.case))
        answer.headers["hx-replace-url"] = address
        return answer

    return handle


def _seen(asked: Asked, standing: Standing) -> int:
    """Return the last entry that the window of a form had seen; a form that does not say has seen all."""
    text = asked.text("seen")
    return int(text) if text.isdecimal() else standing.last


def _typed(asked: Asked) -> dict[str, str]:
    return {name: value for name, value in asked.form.items() if isinstance(value, str) and name not in _OWN}


def _reading(asked: Asked, standing: Standing) -> Event:
    typed = asked.text("typed")
    if not typed:
        raise InputError(asked._("Type what the display shows; a single - where it could not be read."))
    return reading_event(
        standing.state, asked.text("name"), typed, asked.amount("minutes"), disturbed=bool(asked.text("wiggled"))
    )


def _outcome(asked: Asked, standing: Standing) -> Event:
    return outcome_event(
        standing.state,
        asked.text("name"),
        asked.text("outcome"),
        asked.amount("minutes"),
        past=bool(asked.text("past")),
        disturbed=bool(asked.text("wiggled")),
    )


def _harness(asked: Asked, standing: Standing) -> Event:
    connector = asked.text("connector")
    told = {}
    for item in expected_cavities(standing.state.circuit, connector):
        other = asked.text(f"cavity.{item.cavity}")
        same = bool(asked.text(f"same.{item.cavity}"))
        if same and other:
            raise InputError(
                asked._("Cavity {cavity}: it is either as on the sheet or as you typed; clear one of the two.").format(
                    cavity=item.cavity
                )
            )
        if same or other:
            told[item.cavity] = colour_text(item.colours) if same else other
    if not told:
        raise InputError(asked._("Tick or type the colours that you see, at least of one cavity."))
    return harness_event(standing.state, connector, told)


def _access(asked: Asked, standing: Standing) -> Event:
    name = find_access(standing.state.circuit, asked.text("name"))
    return made(AccessDone, name=name, minutes=asked.amount("minutes"))


def _setup(asked: Asked, standing: Standing) -> Event:
    return made(SetupDone, name=find_setup(standing.state.circuit, asked.text("name")))


def _cannot(asked: Asked, standing: Standing) -> Event:
    because = asked.text("because")
    if not because:
        raise InputError(asked._("Say in a word why it cannot be done: the record keeps it."))
    return made(CannotDo, name=asked.text("name"), because=because)


def _finding(asked: Asked, standing: Standing) -> Event:
    return accept(standing.belief, standing.state, asked.text("suspect"), asked.text("because"))


def _repair(asked: Asked, standing: Standing) -> Event:
    name = suspect_of(standing.state.circuit, asked.text("suspect")).name
    return made(
        RepairNoted,
        suspect=name,
        minutes=asked.amount("minutes"),
        parts=asked.amount("parts"),
        note=asked.text("note"),
    )


def _proof(asked: Asked, standing: Standing) -> Event:
    return prove(standing.state, asked.text("outcome"), asked.amount("minutes"))


def _close(asked: Asked, standing: Standing) -> Event:
    proven = standing.state.phase == "proven"
    because = asked.text("because")
    if not proven and not because:
        raise InputError(asked._("No repair is proven: say why the case ends here."))
    return made(Closed, proven=proven, because=because)


def _note(asked: Asked, standing: Standing) -> Event:
    if not asked.text("text"):
        raise InputError(asked._("Write the remark first."))
    return made(Note, text=asked.text("text"))


def _vehicle(asked: Asked, standing: Standing) -> Event:
    return made(VehicleNoted, here=asked.text("where") == "here", because=asked.text("because"))


def _undo(asked: Asked, standing: Standing) -> Event:
    last = asked.bench.desk.last_undoable(standing.number).number
    return made(Correction, corrects=last, because=asked.text("because"))


def _correct(asked: Asked, standing: Standing) -> Event:
    """Put an entry right: another reading for it, or take it back."""
    text = asked.text("number")
    number = int(text) if text.isdecimal() else 0
    typed = asked.text("typed")
    if not typed:
        return made(Correction, corrects=number, because=asked.text("because"))
    noted = next((e.event for e in standing.state.entries if e.number == number), None)
    if not isinstance(noted, ReadingNoted):
        raise InputError(asked._("This entry is no reading: it can only be taken back."))
    replaced = asked.bench.desk.replacement(standing.number, number, reread(standing.state, noted, typed))
    return made(Correction, corrects=number, payload=replaced.payload, because=asked.text("because"))


def _sheet(asked: Asked, standing: Standing) -> Event:
    """Write into the case's sheet the colours that were seen at a connector."""
    found = standing.state.harness.get(asked.text("connector"))
    if found is None:
        raise InputError(asked._("Nothing was compared at this connector yet."))
    return put_right(standing.state.circuit, seen_settings(standing.state.circuit, found))


def _circuit(asked: Asked, standing: Standing) -> Event:
    """Take another circuit: a ready one by its name, or the file that was sent."""
    sent = asked.form.get("file")
    if isinstance(sent, UploadFile) and sent.size:
        text = asked.file_text("file")
        return chosen(read_circuit(text, asked._("the file")), text)
    name = asked.text("circuit")
    return chosen(ready_circuit(name), ready_text(name))


_FORMS: tuple[tuple[str, Make, int], ...] = (
    ("reading", _reading, 0),
    ("outcome", _outcome, 0),
    ("harness", _harness, 0),
    ("access", _access, 0),
    ("setup", _setup, 0),
    ("cannot", _cannot, 0),
    ("finding", _finding, 0),
    ("repair", _repair, 0),
    ("proof", _proof, 0),
    ("close", _close, 0),
    ("note", _note, 0),
    ("vehicle", _vehicle, 0),
    ("undo", _undo, 0),
    ("correct", _correct, 0),
    ("sheet", _sheet, 0),
    ("circuit", _circuit, 1),
)
ROUTES = tuple(
    route
    for form, make, files in _FORMS
    for route in posted(f"/cases/{{case:int}}/{form}", _noting(form, make), files=files)
)
