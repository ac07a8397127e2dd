"""The cautions that stood before the steps of a case."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.cases.case_state import CaseState, Entry
from proveout.cases.events import CaptureAttached, OutcomeNoted, ReadingNoted, RepairNoted, RepairProven, SetupDone
from proveout.cases.names import find_step
from proveout.cases.repair_work import suspect_of
from proveout.cases.work_text import work_text
from proveout.circuits.cautions import caution_texts
from proveout.reports.report_data import CautionKept

__all__ = ["cautions_kept"]


def cautions_kept(state: CaseState) -> tuple[CautionKept, ...]:
    """Return each caution once, with the first step that it stood before."""
    texts = caution_texts()
    first: dict[str, str] = {}
    for entry in state.entries:
        if not entry.problem:
            for name in _of(state, entry):
                first.setdefault(name, work_text(entry.event, state.circuit))
    return tuple(CautionKept(texts.get(name, name), before) for name, before in first.items())


def _of(state: CaseState, entry: Entry) -> Iterator[str]:
    circuit, event = state.circuit, entry.event
    if isinstance(event, ReadingNoted | CaptureAttached):
        yield from find_step(circuit, event.measurement, ("measure",)).cautions
    elif isinstance(event, OutcomeNoted) and not event.past:
        yield from find_step(circuit, event.name, ("look", "watch", "try")).cautions
    elif isinstance(event, RepairProven):
        yield from find_step(circuit, event.behaviour, ("watch",)).cautions
    elif isinstance(event, RepairNoted):
        yield from suspect_of(circuit, event.suspect).repair.cautions
    elif isinstance(event, SetupDone):
        yield from circuit.setups[event.name].cautions
    for name in entry.opened:
        yield from circuit.access[name].cautions
