"""Which repair cures which part, and what must be dismantled first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from proveout.circuits.schema import Circuit, Part, Repair
from proveout.errors import InputError
from proveout.network.elements import ELEMENTS

__all__ = [
    "NONE_OF_THESE",
    "NO_FAULT_NOW",
    "access_closure",
    "fault_modes",
    "faults_of",
    "intermittent_modes",
    "own_repairs",
    "repair_of",
    "suspect_names",
]

NO_FAULT_NOW = "no-fault-now"
NONE_OF_THESE = "none-of-these"


def repair_of(circuit: Circuit, name: str) -> tuple[str, Repair, str]:
    """Return the suspect's name, its repair and its title for the part or bridge `name`.

    The rule: what the part names as its repair (one of the shared repairs, or that of another part), else its unit,
    else, for a wire or a terminal, itself.

    Raises
    ------
    InputError
        There is no such part or bridge, or nothing repairs it.
    """
    passed: list[str] = []
    while name not in passed:
        passed.append(name)
        part = circuit.parts.get(name)
        named = part.repair if part else circuit.bridges[name].repair if name in circuit.bridges else ""
        if named in circuit.repairs:
            shared = circuit.repairs[named]
            return named, shared, shared.suspect or shared.title
        if named and named in circuit.parts:
            name = named
            continue
        own = _own(circuit, name, part) if part and not named else None
        if own is not None:
            return own
        break
    raise InputError(f"no repair for the part '{passed[0]}' of {circuit.name}: give it a unit or a repair")


def access_closure(circuit: Circuit, names: Iterable[str]) -> tuple[str, ...]:
    """Return the access operations `names` with all that they require, requirements first, each once."""
    ordered: dict[str, None] = {}
    for name in names:
        _visit(circuit, name, ordered, set())
    return tuple(ordered)


def faults_of(circuit: Circuit, name: str) -> tuple[str, ...]:
    """Return the names of the fault modes that the part or bridge `name` can have."""
    if name in circuit.bridges:
        return ("short",) if circuit.bridges[name].weight > 0 else ()
    part = circuit.parts[name]
    kind = ELEMENTS.get(part.kind)
    if kind is None or part.healthy or part.weight == 0:
        return ()
    return tuple(mode.name for mode in kind.faults if _occurs(part, mode.name, mode.weight))


def fault_modes(circuit: Circuit) -> Iterator[str]:
    """Yield every fault of the circuit as `part.mode`."""
    for name in (*circuit.parts, *circuit.bridges):
        yield from (f"{name}.{mode}" for mode in faults_of(circuit, name))


def intermittent_modes(circuit: Circuit) -> Iterator[str]:
    """Yield every fault of the circuit that may come and go, as `part.mode`."""
    for name, part in circuit.parts.items():
        possible = set(faults_of(circuit, name))
        for mode in ELEMENTS[part.kind].faults if possible else ():
            override = part.faults.get(mode.name)
            changed = override.intermittent if override is not None else None
            if mode.name in possible and (mode.intermittent if changed is None else changed):
                yield f"{name}.{mode.name}"


def suspect_names(circuit: Circuit) -> tuple[str, ...]:
    """Return the names of all suspects in the order of the file, the two that always exist last."""
    named: dict[str, None] = {}
    for name in (*circuit.parts, *circuit.bridges):
        if faults_of(circuit, name):
            named[repair_of(circuit, name)[0]] = None
    return (*named, NO_FAULT_NOW, NONE_OF_THESE)


def _own(circuit: Circuit, name: str, part: Part) -> tuple[str, Repair, str] | None:
    if part.unit in circuit.units:
        unit = circuit.units[part.unit]
        return part.unit, unit.repair, unit.title
    shared = own_repairs(circuit)
    if part.unit or part.kind not in shared:
        return None
    return name, shared[part.kind], part.title or name


def own_repairs(circuit: Circuit) -> dict[str, Repair]:
    """Return the repairs of wires and terminals that name none, by element kind; a circuit may have neither."""
    given = {"wire": circuit.wire_repair, "terminal": circuit.terminal_repair}
    return {kind: repair for kind, repair in given.items() if repair is not None}


def _visit(circuit: Circuit, name: str, ordered: dict[str, None], passing: set[str]) -> None:
    if name in ordered or name in passing or name not in circuit.access:
        return
    for required in circuit.access[name].requires:
        _visit(circuit, required, ordered, passing | {name})
    ordered[name] = None


def _occurs(part: Part, mode: str, weight: float) -> bool:
    override = part.faults.get(mode)
    if override is not None and override.weight is not None:
        return override.weight > 0
    return weight > 0
