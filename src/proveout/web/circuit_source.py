"""Which circuit an address is about: a ready one by its name, or a vehicle's own sheet by its number."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from starlette.exceptions import HTTPException

from proveout.circuits.library import ready_circuit, ready_names, ready_text, ready_titles
from proveout.circuits.loading import read_circuit
from proveout.circuits.schema import Circuit
from proveout.errors import CircuitError
from proveout.web.asked import Asked
from proveout.web.workbench import Workbench

__all__ = ["CircuitSource", "circuit_source", "circuit_titles", "named_circuit", "read_sheet"]

_SHEET = "sheet-"


@dataclass(frozen=True)
class CircuitSource:
    """A circuit with its text and the address of its pages; `sheet` is None for a ready circuit."""

    circuit: Circuit
    text: str
    address: str
    sheet: int | None

    @property
    def ready(self) -> Circuit | None:
        """The ready circuit that a sheet was made from, None where it is not known."""
        base = self.circuit.based_on
        return ready_circuit(base) if self.sheet is not None and base in ready_names() else None

    @property
    def twin(self) -> Mapping[str, Any]:
        """Where it is found, as plain data."""
        return {"address": self.address, "sheet": self.sheet, "based_on": self.circuit.based_on}


def circuit_source(asked: Asked) -> CircuitSource:
    """Return the circuit of the address; 404 where there is none."""
    parameters = asked.request.path_params
    name = f"{_SHEET}{parameters['sheet']}" if "sheet" in parameters else str(parameters["name"])
    found = named_circuit(asked.bench, name)
    if found is None:
        raise HTTPException(404)
    return found


def named_circuit(bench: Workbench, name: str) -> CircuitSource | None:
    """Return the ready circuit of a name, or the sheet of a number (`sheet-3`); None where there is none.

    Raises
    ------
    CircuitError
        The sheet's file was spoilt.
    """
    if name in ready_names():
        return CircuitSource(ready_circuit(name), ready_text(name), f"/circuits/{name}", None)
    number = name.removeprefix(_SHEET)
    if number == name or not number.isdecimal() or int(number) not in bench.sheets.numbers():
        return None
    sheet = int(number)
    text = bench.sheets.text(sheet)
    return CircuitSource(read_sheet(text, f"sheet {sheet}"), text, f"/sheets/{sheet}", sheet)


def circuit_titles(bench: Workbench) -> dict[str, str]:
    """Return every circuit that can be chosen: the vehicles' own sheets, the newest first, then the ready ones."""
    own = {}
    for number in reversed(bench.sheets.numbers()):
        with suppress(CircuitError):
            sheet = read_sheet(bench.sheets.text(number), f"sheet {number}")
            own[f"{_SHEET}{number}"] = f"{sheet.title} ({sheet.name})"
    return {**own, **ready_titles()}


@lru_cache(maxsize=64)
def read_sheet(text: str, name: str) -> Circuit:
    """Return the circuit of a sheet's text, read once; raises `CircuitError`."""
    return read_circuit(text, name)
