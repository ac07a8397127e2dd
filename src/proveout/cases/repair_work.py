"""What the repair of a suspect is and takes."""

from __future__ import annotations

from proveout.cases.names import pick
from proveout.circuits.repairs import faults_of, repair_of
from proveout.circuits.schema import Circuit
from proveout.diagnosis.faults import Suspect, list_suspects

__all__ = ["suspect_of", "suspects_of"]


def suspects_of(circuit: Circuit) -> tuple[Suspect, ...]:
    """Return all suspects of a circuit in the order of its file, the two that always exist last."""
    named: dict[str, Suspect] = {}
    for part in (*circuit.parts, *circuit.bridges):
        if faults_of(circuit, part):
            name, repair, title = repair_of(circuit, part)
            named.setdefault(name, Suspect(name, title, repair))
    return (*named.values(), *list_suspects(circuit, ()))


def suspect_of(circuit: Circuit, name: str) -> Suspect:
    """Return one suspect; InputError, with the nearest name, when there is none."""
    suspects = {suspect.name: suspect for suspect in suspects_of(circuit)}
    return suspects[pick(name, suspects, "suspect")]
