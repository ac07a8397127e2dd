"""Dismantling and cautions: what is named exists, and nothing requires itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from proveout.circuits.cautions import caution_texts
from proveout.circuits.finding import Finding, Path, choices, closest, unknown
from proveout.circuits.repairs import own_repairs
from proveout.circuits.schema import Circuit

__all__ = ["check_work"]

_SECTIONS = ("connectors", "repairs", "points", "setups", "measurements", "behaviours", "looks", "trials", "access")


def check_work(circuit: Circuit) -> Iterator[Finding]:
    """Check every list of access operations and of cautions, and cycles among access operations."""
    for path, entry in _entries(circuit):
        for field in ("access", "requires"):
            for place, name in enumerate(getattr(entry, field, ())):
                if name not in circuit.access:
                    yield unknown((*path, field, place), "access operation", name, circuit.access, "access")
        yield from _check_cautions(path, getattr(entry, "cautions", []))
    yield from _check_cycles(circuit)


def _entries(circuit: Circuit) -> Iterator[tuple[Path, Any]]:
    for section in _SECTIONS:
        for name, entry in getattr(circuit, section).items():
            yield (section, name), entry
    for name, unit in circuit.units.items():
        yield ("units", name, "repair"), unit.repair
    for name, repair in own_repairs(circuit).items():
        yield (f"{name}_repair",), repair


def _check_cautions(path: Path, names: list[str]) -> Iterator[Finding]:
    for place, name in enumerate(names):
        if name not in caution_texts():
            near = closest(name, caution_texts())
            instead = f"Write '{near}'" if near else "Write one of these"
            expected = f"one of: {choices(caution_texts(), most=30)}"
            yield Finding((*path, "cautions", place), f"unknown caution '{name}'", expected, instead)


def _check_cycles(circuit: Circuit) -> Iterator[Finding]:
    clear: set[str] = set()
    for name in circuit.access:
        cycle = _cycle(circuit, name, [], clear)
        if cycle:
            found = f"access operations that require one another: {' -> '.join(cycle)}"
            instead = f"Remove one of these requirements, such as '{cycle[1]}' of '{cycle[0]}'"
            yield Finding(("access", cycle[0], "requires"), found, "an order in which they can be done", instead)
            clear.update(cycle)


def _cycle(circuit: Circuit, name: str, chain: list[str], clear: set[str]) -> list[str]:
    if name in chain:
        return [*chain[chain.index(name) :], name]
    if name in clear or name not in circuit.access:
        return []
    for required in circuit.access[name].requires:
        if cycle := _cycle(circuit, required, [*chain, name], clear):
            return cycle
    clear.add(name)
    return []
