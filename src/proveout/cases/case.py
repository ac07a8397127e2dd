"""Replays the events of a case to what follows from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from proveout.cases.case_state import CaseState, Entry
from proveout.cases.corrections import standing
from proveout.cases.events import CircuitChosen, Opened
from proveout.cases.folding import complaint_evidence, fold_leniently
from proveout.cases.store import StoredEvent
from proveout.circuits.altitude import at_altitude
from proveout.circuits.loading import read_circuit
from proveout.circuits.schema import Circuit
from proveout.errors import InputError, StoreError

__all__ = ["chosen_circuit", "replay"]


def replay(events: Sequence[StoredEvent]) -> CaseState:
    """Return what follows from the events of a case; corrections are applied, and the circuit chosen last reads all.

    Raises
    ------
    StoreError
        The case was not opened or has no circuit.
    CircuitError
        The stored circuit cannot be read by this program.
    """
    state = _start(standing(events))
    for stored in standing(events):
        if isinstance(stored.event, Opened | CircuitChosen):
            state = replace(state, entries=(*state.entries, _starting(state.circuit, stored)))
        else:
            state = fold_leniently(state, stored)
    return state


def chosen_circuit(event: CircuitChosen) -> Circuit:
    """Return the circuit of an event; CircuitError when its text has mistakes."""
    return _read(event.text, event.name)


@lru_cache(maxsize=8)
def _read(text: str, name: str) -> Circuit:
    return read_circuit(text, f"{name}.yaml")


def _start(events: Sequence[StoredEvent]) -> CaseState:
    opened = [(e.event, e.at) for e in events if isinstance(e.event, Opened)]
    circuits = [e.event for e in events if isinstance(e.event, CircuitChosen)]
    if not opened or not circuits:
        raise StoreError("the case has no opening or no circuit: restore the store from a copy")
    circuit = at_altitude(chosen_circuit(circuits[-1]), opened[0][0].altitude)
    return CaseState(*opened[0], circuit, circuits[-1].text)


def _starting(circuit: Circuit, stored: StoredEvent) -> Entry:
    """Return the entry of an opening or a choice of circuit; a complaint that the sheet does not know is a problem."""
    entry = Entry(stored.number, stored.at, stored.event)
    if not isinstance(stored.event, Opened):
        return entry
    try:
        return replace(entry, evidence=complaint_evidence(circuit, stored.event.complaint, stored.event.codes))
    except InputError as error:
        return replace(entry, problem=str(error))
