"""The library of ready circuits and the vehicles' own sheets; one circuit with its drawing; files in and out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from starlette.responses import Response

from proveout.cases.twins import circuit_twin
from proveout.circuits.library import ready_circuit, ready_names, ready_titles
from proveout.circuits.loading import read_circuit
from proveout.circuits.repairs import fault_modes
from proveout.circuits.sheet_comparison import compare_sheet
from proveout.errors import CircuitError, InputError, Mistake
from proveout.web.asked import Asked, page, posted
from proveout.web.circuit_source import CircuitSource, circuit_source, read_sheet
from proveout.web.pages.case import FUNCTIONS

__all__ = ["ROUTES", "mistake_rows"]


def library(asked: Asked) -> Response:
    """List the ready circuits and the sheets."""
    sheets = asked.bench.sheets
    twin = {
        "ready": [{"name": name, "title": title} for name, title in ready_titles().items()],
        "sheets": [_sheet_line(asked, number) for number in reversed(sheets.numbers())],
    }
    return asked.show("circuits.html", twin)


def _sheet_line(asked: Asked, number: int) -> dict[str, Any]:
    try:
        circuit = read_sheet(asked.bench.sheets.text(number), f"sheet {number}")
    except CircuitError as error:
        return {"sheet": number, "title": "", "name": "", "vehicle": "", "based_on": "", "message": str(error)}
    vehicle = circuit.vehicle
    parts = (vehicle.year, vehicle.make, vehicle.model, vehicle.engine) if vehicle else ()
    return {
        "sheet": number,
        "title": circuit.title,
        "name": circuit.name,
        "vehicle": " ".join(str(part) for part in parts if part),
        "based_on": circuit.based_on,
        "message": "",
    }


def circuit(asked: Asked) -> Response:
    """Show one circuit: its drawing, connectors, steps and repairs."""
    source = circuit_source(asked)
    measurement, setup = _marked(asked, source)
    drawing = asked.bench.schematics.draw(source.circuit, source.text, measurement or None, setup or None)
    twin = {**circuit_twin(source.circuit), **source.twin, "faults": sum(1 for _ in fault_modes(source.circuit))}
    more = {
        "drawing": drawing,
        "measurement": measurement,
        "setup": setup,
        "measurements": source.circuit.measurements,
        "functions": FUNCTIONS,
    }
    return asked.show("circuit.html", twin, more=more)


def _marked(asked: Asked, source: CircuitSource) -> tuple[str, str]:
    """Return the measurement or the set-up to be drawn; neither where the circuit has none of that name."""
    kind, _, name = asked.text("draw").partition(":")
    if kind == "measure" and name in source.circuit.measurements:
        return name, ""
    return ("", name) if kind == "setup" and name in source.circuit.setups else ("", "")


def schematic(asked: Asked) -> Response:
    """Send the drawing alone."""
    source = circuit_source(asked)
    measurement, setup = _marked(asked, source)
    drawn = asked.bench.schematics.draw(source.circuit, source.text, measurement or None, setup or None)
    return Response(str(drawn), media_type="image/svg+xml")


def file(asked: Asked) -> Response:
    """Send the file; its name is made of the circuit's own, which has small letters, digits and dashes only."""
    source = circuit_source(asked)
    headers = {"content-disposition": f'attachment; filename="{source.circuit.name}.yaml"'}
    return Response(source.text, media_type="application/yaml", headers=headers)


def differences(asked: Asked) -> Response:
    """Show what a sheet says otherwise than the ready circuit."""
    source = circuit_source(asked)
    wanted = asked.text("beside")
    beside = ready_circuit(wanted) if wanted in ready_names() else source.ready
    rows = [asdict(row) for row in compare_sheet(beside, source.circuit)] if beside is not None else []
    twin = {
        **source.twin,
        "title": source.circuit.title,
        "beside": {"name": beside.name, "title": beside.title} if beside else None,
        "differences": rows,
        "ready": dict(ready_titles()),
    }
    return asked.show("sheet_differences.html", twin)


def bring(asked: Asked, message: str = "", mistakes: Sequence[Mistake] = (), text: str = "") -> Response:
    """Show the form for a circuit file from elsewhere, with its mistakes by line."""
    twin = {"message": message, "mistakes": mistake_rows(mistakes)}
    return asked.show("sheet_bring.html", twin, status=422 if message else 200, more={"text": text})


def take(asked: Asked) -> Response:
    """Keep a circuit file that was sent or pasted as a sheet; every mistake is reported at once."""
    text = ""
    try:
        text = asked.text("text") or asked.file_text("file")
        if not text.strip():
            raise InputError(asked._("No file was sent."))
        read_circuit(text, asked._("the file"))
        number = asked.bench.sheets.add(text)
    except CircuitError as error:
        return bring(asked, str(error).partition("\n")[0], error.mistakes, text)
    except InputError as error:
        return bring(asked, str(error), (), text)
    return asked.go(f"/sheets/{number}")


def mistake_rows(mistakes: Sequence[Mistake]) -> list[dict[str, Any]]:
    """Return mistakes as plain data."""
    return [asdict(mistake) for mistake in mistakes]


ROUTES = (
    *page("/circuits", library),
    *page("/circuits/bring", bring),
    *posted("/circuits/bring", take, files=1),
    *page("/circuits/{name}", circuit),
    *page("/circuits/{name}/schematic.svg", schematic, twin=False),
    *page("/circuits/{name}/file", file, twin=False),
    *page("/sheets/{sheet:int}", circuit),
    *page("/sheets/{sheet:int}/schematic.svg", schematic, twin=False),
    *page("/sheets/{sheet:int}/file", file, twin=False),
    *page("/sheets/{sheet:int}/differences", differences),
)
