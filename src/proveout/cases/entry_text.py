"""What an event says in one line of a record."""

from __future__ import annotations

from functools import singledispatch

from proveout.cases.answers import answered
from proveout.cases.capture_text import capture_text
from proveout.cases.events import (
    AccessDone,
    AdviceShown,
    CannotDo,
    CaptureAttached,
    CircuitChosen,
    Closed,
    Correction,
    Event,
    FindingAccepted,
    HarnessChecked,
    Note,
    Opened,
    OutcomeNoted,
    ReadingNoted,
    RepairNoted,
    RepairProven,
    SetupDone,
    VehicleNoted,
)
from proveout.cases.names import find_step, outcomes_of
from proveout.cases.repair_work import suspect_of
from proveout.circuits.schema import Circuit
from proveout.diagnosis.chances import chance_text
from proveout.errors import InputError

__all__ = ["entry_text"]


def entry_text(event: Event, circuit: Circuit) -> str:
    """Return an event as one line; names that the circuit does not have are shown as they are."""
    return _text(event, circuit)


@singledispatch
def _text(event: Event, circuit: Circuit) -> str:
    raise TypeError(f"no text for an event '{event.kind}'")


@_text.register
def _(event: Opened, circuit: Circuit) -> str:
    return "; ".join(["Case opened", *([event.concern] if event.concern else []), *event.codes])


@_text.register
def _(event: CircuitChosen, circuit: Circuit) -> str:
    return f"Circuit: {event.title}"


@_text.register
def _(event: HarnessChecked, circuit: Circuit) -> str:
    listed = ", ".join(f"{cavity} {colours}" for cavity, colours in event.seen.items())
    outcome = "agrees with the sheet" if event.agrees else "disagrees: " + "; ".join(event.differences)
    return f"Harness at {event.connector}: {listed}; {outcome}"


@_text.register
def _(event: AccessDone, circuit: Circuit) -> str:
    return circuit.access[event.name].title if event.name in circuit.access else event.name


@_text.register
def _(event: SetupDone, circuit: Circuit) -> str:
    return circuit.setups[event.name].title if event.name in circuit.setups else event.name


@_text.register
def _(event: ReadingNoted, circuit: Circuit) -> str:
    how = " (wiggled)" if event.disturbed else ""
    return f"{_step_title(circuit, event.measurement)}: {event.shown}{how}"


@_text.register
def _(event: CaptureAttached, circuit: Circuit) -> str:
    how = " (wiggled)" if event.disturbed else ""
    return f"{_step_title(circuit, event.measurement)}: {capture_text(event, circuit)}{how}"


@_text.register
def _(event: OutcomeNoted, circuit: Circuit) -> str:
    when = " (before it came in)" if event.past else " (wiggled)" if event.disturbed else ""
    return answered(_step_title(circuit, event.name), _outcome_title(circuit, event.name, event.outcome)) + when


@_text.register
def _(event: CannotDo, circuit: Circuit) -> str:
    access = circuit.access.get(event.name)
    title = _step_title(circuit, event.name)
    return f"Cannot be done: {access.title if access and title == event.name else title} ({event.because})"


@_text.register
def _(event: AdviceShown, circuit: Circuit) -> str:
    return f"Advised: {event.title}"


@_text.register
def _(event: FindingAccepted, circuit: Circuit) -> str:
    because = f"; {event.because}" if event.because else ""
    return f"Finding: {_suspect_title(circuit, event.suspect)} ({chance_text(event.probability)}{because})"


@_text.register
def _(event: RepairNoted, circuit: Circuit) -> str:
    return f"Repair: {_repair_title(circuit, event.suspect)}" + (f"; {event.note}" if event.note else "")


@_text.register
def _(event: RepairProven, circuit: Circuit) -> str:
    title = _step_title(circuit, event.behaviour).rstrip("?")
    before = f" Before the repair: {_outcome_title(circuit, event.behaviour, event.before)}." if event.before else ""
    after = f" After the repair: {_outcome_title(circuit, event.behaviour, event.after)}."
    return f"Proof: {title}.{before}{after} {'Cured' if event.cured else 'Not cured'}."


@_text.register
def _(event: Note, circuit: Circuit) -> str:
    return f"Note: {event.text}"


@_text.register
def _(event: VehicleNoted, circuit: Circuit) -> str:
    return ("The vehicle is here" if event.here else "Waiting for the vehicle") + (
        f"; {event.because}" if event.because else ""
    )


@_text.register
def _(event: Correction, circuit: Circuit) -> str:
    what = "replaced" if event.payload is not None else "taken back"
    return f"Event {event.corrects} {what}" + (f": {event.because}" if event.because else "")


@_text.register
def _(event: Closed, circuit: Circuit) -> str:
    return "Closed, repair proven" if event.proven else f"Closed without a proven repair: {event.because}"


def _step_title(circuit: Circuit, name: str) -> str:
    try:
        return find_step(circuit, name, ("measure", "look", "watch", "try")).title
    except InputError:
        return name


def _outcome_title(circuit: Circuit, name: str, outcome: str) -> str:
    try:
        step = find_step(circuit, name, ("look", "watch", "try"))
    except InputError:
        return outcome
    return outcomes_of(circuit, step).get(outcome, outcome)


def _suspect_title(circuit: Circuit, name: str) -> str:
    try:
        return suspect_of(circuit, name).title
    except InputError:
        return name


def _repair_title(circuit: Circuit, name: str) -> str:
    try:
        return suspect_of(circuit, name).repair.title
    except InputError:
        return name
