"""Another circuit for a case: a ready one, a file, or the present one with values put right by the vehicle."""

from __future__ import annotations

from collections.abc import Mapping

from proveout.cases.events import CircuitChosen, fingerprint, made
from proveout.circuits.colours import colour_text
from proveout.circuits.harness import HarnessComparison, expected_cavities
from proveout.circuits.loading import read_circuit
from proveout.circuits.schema import Circuit
from proveout.circuits.sheet import new_sheet
from proveout.circuits.sheet_answers import parse_answers

__all__ = ["chosen", "put_right", "seen_settings"]


def chosen(circuit: Circuit, text: str) -> CircuitChosen:
    """Return the event that puts a circuit into a case, with the whole text it was read from."""
    return made(CircuitChosen, name=circuit.name, title=circuit.title, text=text, sha256=fingerprint(text))


def put_right(circuit: Circuit, settings: Mapping[str, str]) -> CircuitChosen:
    """Return the choice of a circuit with other values on its sheet.

    Parameters
    ----------
    settings : mapping
        Key of the sheet: value as typed (`wire.w_sig.colour`: `YE/BN`).

    Raises
    ------
    InputError
        A key or a value that the sheet cannot have.
    CircuitError
        The sheet would have mistakes.
    """
    text = new_sheet(circuit, parse_answers(circuit, {"name": circuit.name, **settings}.items()))
    return chosen(read_circuit(text, circuit.name), text)


def seen_settings(circuit: Circuit, found: HarnessComparison) -> dict[str, str]:
    """Return what is to be set so that the sheet says what was seen at a connector; nothing where a wire is missing."""
    wires = {item.cavity: item.wire for item in expected_cavities(circuit, found.connector)}
    return {
        f"wire.{wires[mismatch.cavity]}.colour": colour_text(mismatch.seen)
        for mismatch in found.mismatches
        if wires.get(mismatch.cavity) and mismatch.seen
    }
