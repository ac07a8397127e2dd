"""What one more event does to a case: the rules of the record, one function for each kind of event.

The same rules serve twice: an event is tried by folding it before it is stored, and read by folding it ever after.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import singledispatch
from types import MappingProxyType
from typing import TypeVar

from proveout.cases.case_state import CaseState, Entry
from proveout.cases.events import (
    AccessDone,
    AdviceShown,
    CannotDo,
    CaptureAttached,
    Closed,
    Event,
    FindingAccepted,
    HarnessChecked,
    OutcomeNoted,
    ReadingNoted,
    RepairNoted,
    RepairProven,
    SetupDone,
    VehicleNoted,
)
from proveout.cases.names import StepKind, find_access, find_outcome, find_setup, find_step, pick
from proveout.cases.permission import check_open, check_probing
from proveout.cases.repair_work import suspect_of
from proveout.cases.store import StoredEvent
from proveout.circuits.harness import compare_harness
from proveout.circuits.repairs import access_closure
from proveout.circuits.schema import Circuit
from proveout.diagnosis.capture_evidence import capture_evidence
from proveout.diagnosis.evidence import Evidence, OutcomeSeen, ReadingTaken, RepairDone
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE
from proveout.diagnosis.steps import Step, steps_of
from proveout.errors import BlockedError, InputError, ProveoutError

__all__ = ["complaint_evidence", "fold", "fold_leniently"]

_STEP_KINDS: Mapping[str, StepKind] = {"behaviour": "watch", "look": "look", "trial": "try"}
Value = TypeVar("Value")


def fold(state: CaseState, stored: StoredEvent) -> CaseState:
    """Return the case after one more event.

    Raises
    ------
    InputError
        The event names what the circuit does not have.
    BlockedError
        The event is not allowed at this point of the case.
    """
    check_open(state)
    return _fold(stored.event, state, Entry(stored.number, stored.at, stored.event))


def fold_leniently(state: CaseState, stored: StoredEvent) -> CaseState:
    """Return the case after one more event; one that does not fit counts for nothing and keeps its problem."""
    try:
        return fold(state, stored)
    except ProveoutError as error:
        entry = Entry(stored.number, stored.at, stored.event, problem=str(error))
        return replace(state, entries=(*state.entries, entry))


def complaint_evidence(circuit: Circuit, complaint: Mapping[str, str], codes: Iterable[str]) -> tuple[Evidence, ...]:
    """Return what the customer and the stored codes say, as evidence of before the vehicle came in.

    A code counts where the circuit has a behaviour of that name with an outcome `set`.

    Raises
    ------
    InputError
        The complaint names a behaviour or an outcome that the circuit does not have.
    """
    found: list[Evidence] = []
    for name, outcome in complaint.items():
        step = find_step(circuit, name, ("watch",))
        found.append(OutcomeSeen("behaviour", step.name, find_outcome(circuit, step, outcome), past=True))
    for code in codes:
        behaviour = circuit.behaviours.get(code.lower())
        if behaviour is not None and "set" in behaviour.outcomes and code.lower() not in complaint:
            found.append(OutcomeSeen("behaviour", code.lower(), "set", past=True))
    return tuple(found)


@singledispatch
def _fold(event: Event, state: CaseState, entry: Entry) -> CaseState:
    return _with(state, entry)


@_fold.register
def _(event: HarnessChecked, state: CaseState, entry: Entry) -> CaseState:
    compare_harness(state.circuit, event.connector, event.seen)
    connector = state.circuit.connectors[event.connector]
    seen = {**state.seen.get(event.connector, {}), **event.seen}
    spent = _spend(state, entry, event.minutes, connector.minutes, connector.access)
    return replace(spent, seen=_added(state.seen, event.connector, MappingProxyType(seen)))


@_fold.register
def _(event: AccessDone, state: CaseState, entry: Entry) -> CaseState:
    return _spend(state, entry, event.minutes, 0.0, [find_access(state.circuit, event.name)])


@_fold.register
def _(event: SetupDone, state: CaseState, entry: Entry) -> CaseState:
    setup = state.circuit.setups[find_setup(state.circuit, event.name)]
    needs = [*setup.access, *(a for name in setup.unplugged for a in state.circuit.connectors[name].access)]
    return _spend(state, entry, event.minutes, 0.0, needs, event.name)


@_fold.register
def _(event: ReadingNoted, state: CaseState, entry: Entry) -> CaseState:
    step = find_step(state.circuit, event.measurement, ("measure",))
    check_probing(state, step)
    return _learn(state, entry, step, event.minutes, ReadingTaken(step.name, event.reading, event.disturbed))


@_fold.register
def _(event: CaptureAttached, state: CaseState, entry: Entry) -> CaseState:
    step = find_step(state.circuit, event.measurement, ("measure",))
    check_probing(state, step)
    evidence = capture_evidence(state.circuit, step.name, event.channel, event.found, disturbed=event.disturbed)
    return _learn(state, entry, step, event.minutes, *evidence)


@_fold.register
def _(event: OutcomeNoted, state: CaseState, entry: Entry) -> CaseState:
    step = find_step(state.circuit, event.name, (_STEP_KINDS[event.what],))
    outcome = find_outcome(state.circuit, step, event.outcome)
    evidence = OutcomeSeen(event.what, step.name, outcome, past=event.past, disturbed=event.disturbed)
    if event.past:
        return _with(state, replace(entry, evidence=(evidence,)))
    return _learn(state, entry, step, event.minutes, evidence)


@_fold.register
def _(event: CannotDo, state: CaseState, entry: Entry) -> CaseState:
    barred = _barred(state, event.name)
    return replace(
        _with(state, entry), cannot=MappingProxyType({**state.cannot, **dict.fromkeys(barred, event.because)})
    )


@_fold.register
def _(event: VehicleNoted, state: CaseState, entry: Entry) -> CaseState:
    return replace(_with(state, entry), waiting=None if event.here else event)


@_fold.register
def _(event: AdviceShown, state: CaseState, entry: Entry) -> CaseState:
    return replace(_with(state, entry), advised=event)


@_fold.register
def _(event: FindingAccepted, state: CaseState, entry: Entry) -> CaseState:
    suspect_of(state.circuit, event.suspect)
    return replace(_with(state, entry), finding=event)


@_fold.register
def _(event: RepairNoted, state: CaseState, entry: Entry) -> CaseState:
    if state.repair is not None:
        raise BlockedError(
            f"the repair of '{state.repair.suspect}' has not been proven yet: prove it first with 'proveout proof', so "
            "that it is known which repair helped"
        )
    if event.suspect in (NO_FAULT_NOW, NONE_OF_THESE):
        raise InputError(
            f"'{event.suspect}' names nothing that can be repaired: end the case with 'proveout close --because TEXT', "
            "or put the drawing right with 'proveout sheet'"
        )
    repair = suspect_of(state.circuit, event.suspect).repair
    parts = repair.parts if event.parts is None else event.parts
    priced = replace(entry, parts=parts, planned_parts=repair.parts)
    spent = _spend(state, priced, event.minutes, repair.minutes, repair.access)
    return replace(spent, repair=event)


@_fold.register
def _(event: RepairProven, state: CaseState, entry: Entry) -> CaseState:
    if state.repair is None:
        raise BlockedError("there is no repair to prove: note it first with 'proveout repair SUSPECT'")
    if event.suspect != state.repair.suspect:
        raise InputError(f"the repair to prove is that of '{state.repair.suspect}', not of '{event.suspect}'")
    step = find_step(state.circuit, event.behaviour, ("watch",))
    if state.circuit.behaviours[step.name].outcomes[find_outcome(state.circuit, step, event.after)].good != event.cured:
        raise InputError(f"'{event.after}' and cured={event.cured} do not go together on this sheet")
    done = replace(entry, evidence=(RepairDone(event.suspect, event.cured),))
    told = state if event.cured else replace(state, entries=tuple(_released(e) for e in state.entries))
    spent = _spend(told, done, event.minutes, step.minutes, step.access, step.setup)
    return replace(spent, repair=None, proofs=(*state.proofs, event))


@_fold.register
def _(event: Closed, state: CaseState, entry: Entry) -> CaseState:
    if state.phase == "repaired":
        raise BlockedError(
            "the repair has not been proven: note what the vehicle does now with 'proveout proof OUTCOME', then close"
        )
    if event.proven != (state.phase == "proven") or not (event.proven or event.because):
        raise BlockedError(
            "no repair is proven in this case: go on with 'proveout next', or say why it ends here with "
            "'proveout close --because TEXT'"
        )
    return replace(_with(state, entry), closed=event)


def _learn(state: CaseState, entry: Entry, step: Step, real: float | None, *evidence: Evidence) -> CaseState:
    """Return the case after a step; after a repair its result shows the repair, not the fault."""
    repaired = state.phase in ("repaired", "proven")
    learnt = replace(entry, held=evidence) if repaired else replace(entry, evidence=evidence)
    priced = replace(learnt, parts=step.parts, planned_parts=step.parts)
    return _spend(state, priced, real, step.minutes, step.access, step.setup)


def _spend(
    state: CaseState, entry: Entry, real: float | None, own: float, access: Iterable[str], setup: str = ""
) -> CaseState:
    """Return the case with the entry and its minutes: the real ones, or planned with the access and set-up it needs."""
    opened = tuple(a for a in access_closure(state.circuit, access) if a not in state.access)
    entered = setup if setup and setup != state.setup else ""
    planned = own + sum(state.circuit.access[a].minutes for a in opened)
    planned += state.circuit.setups[entered].minutes if entered else 0.0
    spent = planned if real is None else real
    done = replace(entry, minutes=spent, planned_minutes=planned, opened=opened, setup=entered)
    return replace(_with(state, done), access=state.access | set(opened), setup=entered or state.setup, waiting=None)


def _barred(state: CaseState, name: str) -> tuple[str, ...]:
    """Return the steps that are out when a step, or an access operation that they need, cannot be done."""
    steps = steps_of(state.circuit)
    if name in {step.name for step in steps}:
        return (name,)
    access = pick(name, (*(step.name for step in steps), *state.circuit.access), "step or access operation")
    if access in state.access:
        raise BlockedError(f"'{access}' is done already in this case: take that back first with 'proveout correct'")
    return tuple(step.name for step in steps if access in step.access)


def _released(entry: Entry) -> Entry:
    return replace(entry, evidence=(*entry.evidence, *entry.held), held=())


def _with(state: CaseState, entry: Entry) -> CaseState:
    return replace(state, entries=(*state.entries, entry))


def _added(mapping: Mapping[str, Value], name: str, value: Value) -> Mapping[str, Value]:
    return MappingProxyType({**mapping, name: value})
