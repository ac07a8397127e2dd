"""Fault modes of a circuit with their frequencies and severities, grouped into suspects by their repair."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from functools import lru_cache
from importlib import resources

import numpy as np
import yaml

from proveout.circuits.assemble import Assembly
from proveout.circuits.repairs import NO_FAULT_NOW, NONE_OF_THESE, repair_of
from proveout.circuits.schema import Circuit, Part, Repair
from proveout.network import ELEMENTS, FaultMode
from proveout.network.laws import Array

__all__ = [
    "NONE_OF_THESE",
    "NO_FAULT_NOW",
    "Fault",
    "Suspect",
    "both_of",
    "enumerate_faults",
    "list_suspects",
    "matching",
    "pair_name",
    "severity_grid",
]


@dataclass(frozen=True)
class Fault:
    """One fault mode of one part.

    Attributes
    ----------
    part, mode : FaultMode
        Where and how; `reference` is `part.mode`.
    suspect : str
        The suspect whose repair cures it.
    weight : float
        Relative frequency among all faults of the circuit.
    """

    part: str
    mode: FaultMode
    title: str
    suspect: str
    weight: float

    @property
    def reference(self) -> str:
        """`part.mode`, as circuit files name it."""
        return f"{self.part}.{self.mode.name}"


@dataclass(frozen=True)
class Suspect:
    """What would be repaired or replaced: the unit of a finding."""

    name: str
    title: str
    repair: Repair


def pair_name(one: str, other: str) -> str:
    """Return the name of the suspect that is two suspects at once, `a+b`, whichever is named first."""
    return "+".join(sorted((one, other)))


def both_of(one: Suspect, other: Suspect) -> Suspect:
    """Return the suspect whose repair is that of both."""
    first, second = sorted((one, other), key=lambda suspect: suspect.name)
    repairs = (first.repair, second.repair)
    repair = Repair(
        title=" and ".join(r.title for r in repairs),
        minutes=sum(r.minutes for r in repairs),
        parts=sum(r.parts for r in repairs),
        access=list(dict.fromkeys(a for r in repairs for a in r.access)),
        cautions=list(dict.fromkeys(c for r in repairs for c in r.cautions)),
    )
    return Suspect(pair_name(one.name, other.name), f"{first.title} and {second.title}", repair)


@lru_cache(maxsize=1)
def _frequencies() -> Mapping[str, float]:
    text = resources.files("proveout.diagnosis").joinpath("frequencies.yaml").read_text("utf-8")
    return {kind: float(entry) for kind, entry in yaml.safe_load(text)["kinds"].items()}


def enumerate_faults(assembly: Assembly) -> tuple[Fault, ...]:
    """Return every fault mode of the circuit; weights sum to 1 over them and the two standing suspects apart."""
    found: list[Fault] = []
    for name, part in assembly.parts.items():
        if part.healthy:
            continue
        modes = _modes(part, assembly.circuit, name)
        total = sum(mode.weight for mode in modes)
        for mode in modes:
            suspect, _, _ = repair_of(assembly.circuit, name)
            title = f"{part.title or name}: {mode.title}"
            found.append(Fault(name, mode, title, suspect, _part_weight(part, assembly, name) * mode.weight / total))
    whole = sum(fault.weight for fault in found)
    return tuple(replace(fault, weight=fault.weight / whole) for fault in found)


def _part_weight(part: Part, assembly: Assembly, name: str) -> float:
    if name in assembly.circuit.bridges:
        return assembly.circuit.bridges[name].weight
    return part.weight if part.weight is not None else _frequencies()[part.kind]


def _modes(part: Part, circuit: Circuit, name: str) -> list[FaultMode]:
    modes = []
    for mode in ELEMENTS[part.kind].faults:
        if name in circuit.bridges:
            bridge = circuit.bridges[name]
            mode = replace(mode, low=bridge.low, high=bridge.high)
        if mode.name in part.faults:
            change = part.faults[mode.name].model_dump(exclude_none=True, exclude={"source"})
            mode = replace(mode, **change)
        if mode.weight > 0:
            modes.append(mode)
    return modes


def severity_grid(mode: FaultMode, count: int) -> Array:
    """Return (severity,) values of the mode's parameter, `count` cell centres evenly spread in logarithm.

    A mode with one value, or one that forces a state, has one severity.
    """
    if mode.forced is not None:
        return np.array([1.0])
    if mode.low == mode.high:
        return np.array([mode.low])
    edges = np.linspace(np.log(mode.low), np.log(mode.high), count + 1)
    return np.exp(0.5 * (edges[:-1] + edges[1:]))


def list_suspects(circuit: Circuit, faults: tuple[Fault, ...]) -> tuple[Suspect, ...]:
    """Return the suspects in the order of the faults, then 'no fault present now' and 'none of these'."""
    named: dict[str, Suspect] = {}
    for fault in faults:
        if fault.suspect not in named:
            _, repair, title = repair_of(circuit, fault.part)
            named[fault.suspect] = Suspect(fault.suspect, title, repair)
    return (*named.values(), *_standing())


def _standing() -> tuple[Suspect, Suspect]:
    return (
        Suspect(
            NO_FAULT_NOW,
            "No fault present now",
            Repair(title="Return the vehicle with advice, road test first", minutes=30, source="common practice"),
        ),
        Suspect(
            NONE_OF_THESE,
            "None of these explains it",
            Repair(title="Stop and check the drawing against the vehicle", minutes=90, source="common practice"),
        ),
    )


def matching(patterns: Mapping[str, Mapping[str, float]], reference: str) -> Mapping[str, float] | None:
    """Return the entry of the first pattern (`part.mode` with * as a wildcard) that fits, or None."""
    return next((entry for pattern, entry in patterns.items() if fnmatchcase(reference, pattern)), None)
