"""Everything that can be done to a practice vehicle now, and what each would take from here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from proveout.cases.case_state import CaseState
from proveout.cases.events import OutcomeNoted, ReadingNoted
from proveout.cases.permission import unchecked
from proveout.cases.repair_work import suspects_of
from proveout.circuits.cautions import caution_text
from proveout.circuits.repairs import NO_FAULT_NOW, NONE_OF_THESE, access_closure
from proveout.circuits.schema import Circuit
from proveout.diagnosis.steps import Step, steps_of

__all__ = ["Choice", "choices_of"]

Kind = Literal["compare", "measure", "look", "watch", "try", "access", "setup", "repair"]


@dataclass(frozen=True)
class Choice:
    """One thing to do.

    Attributes
    ----------
    setup : str
        Title of the set-up that it needs, empty where any will do.
    minutes, parts : float
        From here, with what is still to be dismantled and the change of set-up; parts in the shop's money.
    dismantle : tuple of str
        Titles of what is still to be dismantled for it.
    compare_first : tuple of str
        Connectors whose colours are to be compared before.
    cautions : tuple of str
    times : int
        How often it was done already.
    """

    kind: Kind
    name: str
    title: str
    setup: str
    minutes: float
    parts: float
    dismantle: tuple[str, ...]
    compare_first: tuple[str, ...]
    cautions: tuple[str, ...]
    times: int


def choices_of(state: CaseState) -> tuple[Choice, ...]:
    """Return everything that can be done, in the order of the circuit's file."""
    circuit = state.circuit
    return (
        *(_compare(state, name) for name in circuit.connectors),
        *(_step(state, step) for step in steps_of(circuit)),
        *(_access(state, name) for name in circuit.access if name not in state.access),
        *(_setup(state, name) for name in circuit.setups if name != state.setup),
        *_repairs(state),
    )


def _compare(state: CaseState, name: str) -> Choice:
    connector, seen = state.circuit.connectors[name], name in state.seen
    minutes, access = connector.minutes, _closed(state, connector.access)
    title = f"{name}: {connector.title}"
    return _choice(state, "compare", name, title, "", minutes, access, cautions=connector.cautions, times=int(seen))


def _step(state: CaseState, step: Step) -> Choice:
    events = [entry.event for entry in state.entries]
    times = sum(isinstance(e, ReadingNoted) and e.measurement == step.name for e in events)
    times += sum(isinstance(e, OutcomeNoted) and e.name == step.name and not e.past for e in events)
    access = _closed(state, step.access)
    first = unchecked(state, step.connectors) if step.kind == "measure" else ()
    return _choice(
        state,
        step.kind,
        step.name,
        step.title,
        step.setup,
        step.minutes,
        access,
        parts=step.parts,
        compare_first=first,
        cautions=step.cautions,
        times=times,
    )


def _access(state: CaseState, name: str) -> Choice:
    access = _closed(state, [name])
    return _choice(state, "access", name, state.circuit.access[name].title, "", 0.0, access)


def _setup(state: CaseState, name: str) -> Choice:
    setup = state.circuit.setups[name]
    needs = [*setup.access, *(a for plug in setup.unplugged for a in state.circuit.connectors[plug].access)]
    access = _closed(state, needs)
    return _choice(state, "setup", name, setup.title, name, 0.0, access, cautions=setup.cautions)


def _repairs(state: CaseState) -> Iterable[Choice]:
    for suspect in suspects_of(state.circuit):
        if suspect.name not in (NO_FAULT_NOW, NONE_OF_THESE):
            repair = suspect.repair
            access = _closed(state, repair.access)
            yield _choice(
                state,
                "repair",
                suspect.name,
                repair.title,
                "",
                repair.minutes,
                access,
                parts=repair.parts,
                cautions=repair.cautions,
            )


def _choice(
    state: CaseState,
    kind: Kind,
    name: str,
    title: str,
    setup: str,
    own: float,
    access: tuple[str, ...],
    *,
    parts: float = 0.0,
    compare_first: tuple[str, ...] = (),
    cautions: Iterable[str] = (),
    times: int = 0,
) -> Choice:
    circuit = state.circuit
    change = circuit.setups[setup].minutes if setup and setup != state.setup else 0.0
    minutes = own + change + sum(circuit.access[a].minutes for a in access)
    ids = dict.fromkeys([*(c for a in access for c in circuit.access[a].cautions), *cautions])
    return Choice(
        kind,
        name,
        title,
        _setup_title(circuit, setup),
        minutes,
        parts,
        tuple(circuit.access[a].title for a in access),
        compare_first,
        tuple(caution_text(c) for c in ids),
        times,
    )


def _setup_title(circuit: Circuit, setup: str) -> str:
    return circuit.setups[setup].title if setup else ""


def _closed(state: CaseState, access: Iterable[str]) -> tuple[str, ...]:
    """Return the access operations still to be done, with what they require."""
    return tuple(a for a in access_closure(state.circuit, access) if a not in state.access)
