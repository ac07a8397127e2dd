"""A circuit by the name of a ready one or by its file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from proveout.cases.circuit_change import chosen
from proveout.cases.events import CircuitChosen
from proveout.circuits.library import ready_circuit, ready_names, ready_text
from proveout.circuits.loading import read_circuit
from proveout.circuits.schema import Circuit
from proveout.cli.files import read_text

__all__ = ["Source", "chosen_event", "read_source"]


@dataclass(frozen=True)
class Source:
    """A circuit with the text it was read from; `own` where it is a file and no ready circuit."""

    circuit: Circuit
    text: str
    own: bool = False


def chosen_event(source: Source) -> CircuitChosen:
    """Return the event that puts a circuit into a case, whole."""
    return chosen(source.circuit, source.text)


def read_source(name: str) -> Source:
    """Return a circuit: a file where there is one of that name or the name looks like one, else a ready circuit.

    Raises
    ------
    InputError
        There is neither; the message names the nearest ready circuit.
    CircuitError
        The file has mistakes.
    """
    path = Path(name)
    if name not in ready_names() and (path.suffix in (".yaml", ".yml") or "/" in name or path.is_file()):
        text = read_text(path)
        return Source(read_circuit(text, name), text, own=True)
    return Source(ready_circuit(name), ready_text(name))
