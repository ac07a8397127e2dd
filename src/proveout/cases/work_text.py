"""What was done, without its result: for lists of work, times and cautions."""

from __future__ import annotations

from proveout.cases.entry_text import entry_text
from proveout.cases.events import (
    CaptureAttached,
    Event,
    HarnessChecked,
    OutcomeNoted,
    ReadingNoted,
    RepairNoted,
    RepairProven,
)
from proveout.cases.names import find_step
from proveout.cases.repair_work import suspect_of
from proveout.circuits.schema import Circuit
from proveout.errors import InputError

__all__ = ["work_text"]


def work_text(event: Event, circuit: Circuit) -> str:
    """Return what an event was as work; an event that the circuit does not know is shown as in the record."""
    try:
        return _text(event, circuit)
    except InputError:
        return entry_text(event, circuit)


def _text(event: Event, circuit: Circuit) -> str:
    if isinstance(event, HarnessChecked):
        return f"Harness check at {event.connector}"
    if isinstance(event, ReadingNoted | CaptureAttached):
        return find_step(circuit, event.measurement, ("measure",)).title
    if isinstance(event, OutcomeNoted):
        return find_step(circuit, event.name, ("look", "watch", "try")).title
    if isinstance(event, RepairNoted):
        return suspect_of(circuit, event.suspect).repair.title
    if isinstance(event, RepairProven):
        return f"Proof: {find_step(circuit, event.behaviour, ('watch',)).title}"
    return entry_text(event, circuit)
