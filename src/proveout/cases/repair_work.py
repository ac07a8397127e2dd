"""What the repair of a suspect is and takes."""

from __future__ import annotations

from collections.abc import Iterable

from proveout.cases.names import pick
from proveout.circuits.repairs import access_closure, faults_of, repair_of
from proveout.circuits.schema import Circuit
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE, Suspect, both_of, list_suspects
from proveout.errors import InputError

__all__ = ["repair_minutes", "suspect_of", "suspects_of"]


def suspects_of(circuit: Circuit) -> tuple[Suspect, ...]:
    """Return all suspects of a circuit in the order of its file, the two that always exist last."""
    named: dict[str, Suspect] = {}
    for part in (*circuit.parts, *circuit.bridges):
        if faults_of(circuit, part):
            name, repair, title = repair_of(circuit, part)
            named.setdefault(name, Suspect(name, title, repair))
    return (*named.values(), *list_suspects(circuit, ()))


def repair_minutes(circuit: Circuit, suspect: Suspect, opened: Iterable[str]) -> float:
    """Return the planned minutes to put a suspect right, with the access that is not open yet [min]."""
    done = frozenset(opened)
    access = [name for name in access_closure(circuit, suspect.repair.access) if name not in done]
    return suspect.repair.minutes + sum(circuit.access[name].minutes for name in access)


def suspect_of(circuit: Circuit, name: str) -> Suspect:
    """Return one suspect, or the pair `a+b` of two that can be repaired.

    Raises
    ------
    InputError
        There is none; the message gives the nearest name.
    """
    suspects = {suspect.name: suspect for suspect in suspects_of(circuit)}
    one, sign, other = name.partition("+")
    if not sign:
        return suspects[pick(name, suspects, "suspect")]
    repairable = [known for known in suspects if known not in (NO_FAULT_NOW, NONE_OF_THESE)]
    pair = [suspects[pick(each, repairable, "suspect")] for each in (one, other)]
    if one == other:
        raise InputError(f"'{name}' names one suspect twice: name it once, or two that differ")
    return both_of(*pair)
