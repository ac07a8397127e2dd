"""Starting a case: what came in, what the customer says, which circuit, what was seen so far."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, Response

from proveout.cases.circuit_change import chosen
from proveout.cases.events import AccessDone, CircuitChosen, Note, Opened, VehicleNoted, VehicleRecord, made
from proveout.cases.identification import check_applies, read_identification
from proveout.cases.twins import circuit_twin
from proveout.circuits.loading import read_circuit
from proveout.circuits.schema import Circuit
from proveout.errors import InputError, ProveoutError
from proveout.web.asked import Asked, page, posted
from proveout.web.circuit_source import circuit_titles, named_circuit

__all__ = ["ROUTES"]

_VEHICLE = ("make", "model", "engine", "distance", "plate")
_TEXTS = (*_VEHICLE, "year", "identification", "concern", "codes", "order", "customer", "seen", "technician")


def show_form(asked: Asked) -> Response:
    """Show the empty form, with the complaints of a circuit where one is named in the address."""
    found = named_circuit(asked.bench, asked.text("circuit"))
    return _form(asked, found.circuit if found else None)


def show_complaints(asked: Asked) -> Response:
    """Show what may be complained of with a circuit, and what may be dismantled already."""
    found = named_circuit(asked.bench, asked.text("circuit"))
    if found is None:
        return HTMLResponse("")
    return asked.show("new_case_circuit.html", {"known": _known(found.circuit)}, more={"typed": {}})


def show_identification(asked: Asked) -> Response:
    """Say whether an identification number can be one."""
    typed, year = asked.text("identification"), asked.text("year")
    if not typed:
        return HTMLResponse("")
    try:
        number = read_identification(typed, int(year) if year.isdecimal() else None)
    except InputError as error:
        return asked.show("identification.html", {"number": "", "checked": False, "message": str(error)})
    return asked.show("identification.html", {"number": number, "checked": check_applies(number), "message": ""})


def start(asked: Asked) -> Response:
    """Open the case, or show the form again with what is wrong beside each field."""
    wrong: dict[str, str] = {}
    circuit = _tried(wrong, "circuit", lambda: _circuit(asked))
    if circuit is None or asked.text("show"):
        return _form(asked, circuit[0] if circuit else None, {} if asked.text("show") else wrong)
    vehicle = _tried(wrong, "vehicle", lambda: _vehicle(asked, circuit[0], wrong))
    minutes = _tried(wrong, "authorised_minutes", lambda: asked.amount("authorised_minutes"))
    money = _tried(wrong, "authorised_money", lambda: asked.amount("authorised_money"))
    rate = _tried(wrong, "labour_rate", lambda: asked.amount("labour_rate"))
    codes = asked.text("codes").upper().replace(",", " ").split()
    _tried(wrong, "codes", lambda: made(Opened, codes=codes))
    if wrong or vehicle is None:
        return _form(asked, circuit[0], wrong)
    settings = asked.settings
    opened = made(
        Opened,
        vehicle=vehicle,
        codes=codes,
        complaint=_complaint(asked, circuit[0]),
        authorised_minutes=minutes,
        authorised_money=money,
        labour_rate=settings.labour_rate if rate is None else rate,
        wrong_repair=settings.wrong_repair,
        currency=settings.currency,
        shop=settings.shop,
        technician=asked.text("technician") or settings.technician,
        **{name: asked.text(name) for name in ("concern", "order", "customer")},
    )
    case = _tried(wrong, "circuit", lambda: _open(asked, opened, circuit))
    return _form(asked, circuit[0], wrong) if wrong else asked.go(f"/cases/{case}")


def _open(asked: Asked, opened: Opened, circuit: tuple[Circuit, CircuitChosen]) -> int:
    desk = asked.bench.desk
    case = desk.open(opened, circuit[1])
    for name in asked.texts("access"):
        if name in circuit[0].access:
            desk.record(case, made(AccessDone, name=name, minutes=0.0))
    if asked.text("seen"):
        desk.record(case, made(Note, text=asked.text("seen")))
    if asked.text("away"):
        desk.record(case, made(VehicleNoted, here=False))
    return case


def _circuit(asked: Asked) -> tuple[Circuit, CircuitChosen]:
    """Return the circuit that was chosen: a file that was sent, else a sheet or a ready one."""
    sent = asked.form.get("file")
    if isinstance(sent, UploadFile) and sent.size:
        text = asked.file_text("file")
        circuit = read_circuit(text, asked._("the file"))
        return circuit, chosen(circuit, text)
    found = named_circuit(asked.bench, asked.text("circuit"))
    if found is None:
        raise InputError(asked._("Choose the circuit that the complaint is about."))
    return found.circuit, chosen(found.circuit, found.text)


def _vehicle(asked: Asked, circuit: Circuit, wrong: dict[str, str]) -> VehicleRecord | None:
    """Return the vehicle as it was typed, else as its own sheet names it."""
    year = asked.text("year")
    if year and not year.isdecimal():
        wrong["year"] = asked._("A year has four digits.")
        return None
    number = _tried(wrong, "identification", lambda: _number(asked.text("identification"), int(year) if year else None))
    if number is None:
        return None
    fields: dict[str, Any] = {name: asked.text(name) for name in _VEHICLE}
    fields["year"] = int(year) if year else None
    if circuit.vehicle is not None:
        named = circuit.vehicle.model_dump(exclude={"note"})
        fields |= {name: value for name, value in named.items() if not fields.get(name)}
    return made(VehicleRecord, identification=number, **fields)


def _number(typed: str, year: int | None) -> str:
    return read_identification(typed, year) if typed else ""


def _complaint(asked: Asked, circuit: Circuit) -> dict[str, str]:
    said = {name: asked.text(f"complaint.{name}") for name in circuit.behaviours}
    return {name: outcome for name, outcome in said.items() if outcome}


def _form(asked: Asked, circuit: Circuit | None, wrong: Mapping[str, str] | None = None) -> Response:
    typed = {name: asked.text(name) for name in (*_TEXTS, "authorised_minutes", "authorised_money", "labour_rate")}
    typed |= {name: value for name, value in asked.form.items() if isinstance(value, str) and name != "token"}
    typed["circuit"] = asked.text("circuit")
    twin = {
        "circuits": circuit_titles(asked.bench),
        "known": _known(circuit) if circuit is not None else None,
        "wrong": dict(wrong or {}),
    }
    return asked.show("new_case.html", twin, status=422 if wrong else 200, more={"typed": typed})


def _known(circuit: Circuit) -> dict[str, Any]:
    """Return what the form asks about a circuit: its behaviours but for codes, and its access operations."""
    return {
        "title": circuit.title,
        "behaviours": [
            {
                "name": name,
                "title": behaviour.title,
                "outcomes": {key: outcome.title for key, outcome in behaviour.outcomes.items()},
            }
            for name, behaviour in circuit.behaviours.items()
            if behaviour.kind != "code"
        ],
        "access": circuit_twin(circuit)["access"],
    }


def _tried(wrong: dict[str, str], field: str, make: Any) -> Any:
    """Return what a function gives; where it refuses, keep its message under a field and return None."""
    try:
        return make()
    except ProveoutError as error:
        wrong.setdefault(field, str(error))
        return None


ROUTES = (
    *page("/cases/new", show_form),
    *page("/cases/new/circuit", show_complaints, twin=False),
    *page("/identification", show_identification),
    *posted("/cases/new", start, files=1),
)
