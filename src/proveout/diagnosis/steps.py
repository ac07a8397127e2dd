"""Every step that can be taken on a circuit: what it needs and what it costs before access and set-up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal
from weakref import ref

from proveout.circuits.repairs import access_closure
from proveout.circuits.schema import Circuit

__all__ = ["SEEN_AS", "TRIAL_OUTCOMES", "Step", "steps_of"]

Seen = Literal["behaviour", "look", "trial"]
SEEN_AS: Mapping[str, Seen] = {"watch": "behaviour", "look": "look", "try": "trial"}
"""How the outcome of a step of each kind enters the evidence."""
TRIAL_OUTCOMES: Mapping[str, str] = {"cured": "The fault is gone", "same": "No change"}
"""What a trial may show, by the name of the outcome."""


@dataclass(frozen=True)
class Step:
    """One measurement, look, behaviour to watch, or trial.

    `minutes` and `parts` are its own; `access` holds every operation it needs, requirements first; `connectors` are
    those at which leads or eyes go; `cautions` are ids, those of the access apart.
    """

    kind: Literal["measure", "look", "watch", "try"]
    name: str
    title: str
    setup: str
    minutes: float
    parts: float
    access: tuple[str, ...]
    connectors: frozenset[str]
    cautions: tuple[str, ...]


def steps_of(circuit: Circuit) -> tuple[Step, ...]:
    """Return all steps of a circuit."""
    key = id(circuit)
    known = _LISTED.get(key)
    if known is None or known[0]() is not circuit:
        steps = (*_measurements(circuit), *_watches(circuit), *_looks(circuit), *_trials(circuit))
        known = _LISTED[key] = (ref(circuit, lambda _: _LISTED.pop(key, None)), steps)
    return known[1]


# A circuit cannot be hashed and never changes: its steps are listed once, and forgotten with it.
_LISTED: dict[int, tuple[ref[Circuit], tuple[Step, ...]]] = {}


def _setup_access(circuit: Circuit, setup: str) -> list[str]:
    if not setup:
        return []
    chosen = circuit.setups[setup]
    return [*chosen.access, *(a for c in chosen.unplugged for a in circuit.connectors[c].access)]


def _cautions(circuit: Circuit, own: Iterable[str], setup: str) -> tuple[str, ...]:
    found = [*own]
    if setup:
        found += circuit.setups[setup].cautions
        found += [c for name in circuit.setups[setup].unplugged for c in circuit.connectors[name].cautions]
    return tuple(dict.fromkeys(found))


def _measurements(circuit: Circuit) -> Iterable[Step]:
    for name, m in circuit.measurements.items():
        points = [circuit.points[p] for p in (m.red, m.black) if p]
        connectors = frozenset(p.connector for p in points if p.connector)
        needs = [*m.access, *(a for p in points for a in p.access), *_setup_access(circuit, m.setup)]
        needs += [a for c in sorted(connectors) for a in circuit.connectors[c].access]
        access = access_closure(circuit, needs)
        own = [*m.cautions, *(["no-ohms-live"] if m.function == "ohms" else [])]
        cautions = _cautions(circuit, own, m.setup)
        title = m.title or name
        yield Step("measure", name, title, m.setup, m.minutes, 0.0, access, connectors, cautions)


def _watches(circuit: Circuit) -> Iterable[Step]:
    for name, b in circuit.behaviours.items():
        access = access_closure(circuit, [*b.access, *_setup_access(circuit, b.setup)])
        cautions = _cautions(circuit, b.cautions, b.setup)
        yield Step("watch", name, b.title, b.setup, b.minutes, 0.0, access, frozenset(), cautions)


def _looks(circuit: Circuit) -> Iterable[Step]:
    for name, k in circuit.looks.items():
        connectors = frozenset([k.connector] if k.connector else [])
        needs = [*k.access, *_setup_access(circuit, k.setup)]
        needs += [a for c in connectors for a in circuit.connectors[c].access]
        access = access_closure(circuit, needs)
        unplug = sum(circuit.connectors[c].minutes for c in connectors)
        cautions = _cautions(
            circuit, [*k.cautions, *(c for n in connectors for c in circuit.connectors[n].cautions)], k.setup
        )
        yield Step("look", name, k.title, k.setup, k.minutes + unplug, 0.0, access, connectors, cautions)


def _trials(circuit: Circuit) -> Iterable[Step]:
    for name, t in circuit.trials.items():
        access = access_closure(circuit, t.access)
        watch = circuit.behaviours[t.behaviour]
        minutes = t.minutes + watch.minutes
        cautions = _cautions(circuit, [*t.cautions, *watch.cautions], watch.setup)
        yield Step("try", name, t.title, watch.setup, minutes, t.parts, access, frozenset(), cautions)
