"""Suspects: every part that can fail has one repair, and every name means one thing."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.circuits.finding import Finding, Path, choices, closest, unknown
from proveout.circuits.repairs import NO_FAULT_NOW, NONE_OF_THESE, faults_of, own_repairs
from proveout.circuits.schema import Circuit

__all__ = ["check_suspects"]


def check_suspects(circuit: Circuit) -> Iterator[Finding]:
    """Check units, repairs and the names of suspects."""
    for name, part in circuit.parts.items():
        path = ("parts", name)
        if part.unit and part.unit not in circuit.units:
            yield unknown((*path, "unit"), "unit", part.unit, circuit.units, "units")
        if part.repair:
            yield from _check_repair(circuit, name, (*path, "repair"), part.repair)
        elif not part.unit and part.kind not in own_repairs(circuit) and faults_of(circuit, name):
            expected = "'unit' or 'repair' on a part that can fail"
            instead = "Add 'unit: ...' or 'repair: ...', or 'healthy: true' if it is assumed sound"
            yield Finding(path, "no repair for its faults", expected, instead)
    for name, bridge in circuit.bridges.items():
        yield from _check_repair(circuit, name, ("bridges", name, "repair"), bridge.repair)
    yield from _check_names(circuit)


def _check_repair(circuit: Circuit, start: str, path: Path, repair: str) -> Iterator[Finding]:
    if repair not in circuit.repairs and repair not in circuit.parts:
        near = closest(repair, [*circuit.repairs, *circuit.parts])
        instead = f"Write '{near}'" if near else f"Write one of these, or add '{repair}' under 'repairs'"
        expected = f"a repair ({choices(circuit.repairs)}) or the name of a part"
        yield Finding(path, f"unknown repair '{repair}'", expected, instead, ("repairs", repair))
        return
    chain = [start]
    while repair in circuit.parts and repair not in circuit.repairs:
        if repair in chain:
            found = f"repairs in a circle: {' -> '.join([*chain, repair])}"
            yield Finding(path, found, "a chain that ends at a repair", "Name a repair for one of them")
            return
        chain.append(repair)
        repair = circuit.parts[repair].repair


def _check_names(circuit: Circuit) -> Iterator[Finding]:
    owns = {
        name: ("parts", name)
        for name, part in circuit.parts.items()
        if part.kind in own_repairs(circuit) and not part.unit and not part.repair
    }
    taken = {NO_FAULT_NOW: "a suspect that always exists", NONE_OF_THESE: "a suspect that always exists"}
    for section, names in (("units", circuit.units), ("repairs", circuit.repairs), ("parts", owns)):
        for name in names:
            if name in taken:
                expected = "one name for each suspect"
                yield Finding((section, name), f"'{name}' is also {taken[name]}", expected, "Rename one of the two")
            taken.setdefault(name, f"one of the {section}")
    for section, entries in (("parts", circuit.parts), ("bridges", circuit.bridges)):
        for name in entries:
            if not name or set(name) & set(".*?[] "):
                expected = "letters, digits, dashes and underscores"
                instead = "Rename it: faults are written as name.mode, with * as a wildcard"
                yield Finding((section, name), f"the name '{name}'", expected, instead)
