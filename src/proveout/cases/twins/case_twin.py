"""A case, its log, its history and what an entry did, as plain data."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from proveout.cases.answers import complaint_told
from proveout.cases.case_state import CaseState
from proveout.cases.correction_text import log_text
from proveout.cases.corrections import fates, standing
from proveout.cases.desk import Recorded
from proveout.cases.entry_text import entry_text
from proveout.cases.events import (
    AccessDone,
    CaptureAttached,
    CircuitChosen,
    Closed,
    Event,
    HarnessChecked,
    Opened,
    OutcomeNoted,
    ReadingNoted,
    RepairNoted,
    RepairProven,
    SetupDone,
    VehicleNoted,
)
from proveout.cases.history import HistoryRow
from proveout.cases.repair_work import suspect_of
from proveout.cases.store import StoredEvent
from proveout.cases.twins.advice_twin import opinions_twin
from proveout.circuits.schema import Circuit
from proveout.diagnosis.advice_model import Opinion

__all__ = ["effect_twin", "history_twin", "listing_twin", "log_twin", "recorded_twin", "state_twin"]

_THEN = {
    "testing": "proveout next",
    "repaired": "proveout proof OUTCOME",
    "proven": "proveout report, proveout close",
    "closed": "proveout report",
}


def state_twin(case: int, state: CaseState, suspects: Sequence[Opinion] = ()) -> dict[str, Any]:
    """Return a case at a glance."""
    shop = state.shop
    return {
        "case": case,
        "opened_at": state.opened_at.isoformat(),
        "phase": state.phase,
        "invented": state.opened.invented,
        "order": state.opened.order,
        "vehicle": state.opened.vehicle.model_dump(),
        "concern": state.opened.concern,
        "complaint": dict(state.opened.complaint),
        "complaint_told": list(complaint_told(state.opened.complaint, state.circuit)),
        "codes": list(state.opened.codes),
        "circuit": {"name": state.circuit.name, "title": state.circuit.title},
        "spent": {
            "minutes": state.minutes,
            "labour": state.labour,
            "parts": state.parts,
            "money": state.labour + state.parts,
        },
        "left": {"minutes": shop.minutes_left, "money": shop.money_left},
        "currency": state.opened.currency,
        "opened_access": [state.circuit.access[name].title for name in sorted(state.access)],
        "setup": state.circuit.setups[state.setup].title if state.setup else None,
        "harness": [
            {
                "connector": name,
                "agrees": found.agrees,
                "complete": found.complete,
                "mismatches": [str(mismatch) for mismatch in found.mismatches],
            }
            for name, found in state.harness.items()
        ],
        "cannot": dict(state.cannot),
        "waiting": state.waiting.model_dump() if state.waiting else None,
        "finding": _finding(state),
        "repair": state.repair.model_dump() if state.repair else None,
        "proofs": [proof.model_dump() for proof in state.proofs],
        "closed": state.closed.model_dump() if state.closed else None,
        "suspects": opinions_twin(suspects),
        "entries": [
            {
                "number": entry.number,
                "kind": entry.event.kind,
                "text": entry_text(entry.event, state.circuit),
                "minutes": entry.minutes,
                "parts": entry.parts,
                "problem": entry.problem,
            }
            for entry in state.entries
        ],
    }


def _finding(state: CaseState) -> dict[str, Any] | None:
    if state.finding is None:
        return None
    return {**state.finding.model_dump(), "title": suspect_of(state.circuit, state.finding.suspect).title}


def log_twin(case: int, events: Sequence[StoredEvent], circuit: Circuit) -> dict[str, Any]:
    """Return every event of a case as it was stored, with what became of it."""
    changed = fates(events)
    return {
        "case": case,
        "events": [
            {
                "number": stored.number,
                "at": stored.at.isoformat(),
                "kind": stored.event.kind,
                "text": log_text(events, stored, circuit),
                "corrected_by": changed[stored.number].by if stored.number in changed else None,
                "seal": stored.seal,
                "payload": json.loads(stored.event.model_dump_json()),
            }
            for stored in events
        ],
    }


def listing_twin(case: int, events: Sequence[StoredEvent]) -> dict[str, Any]:
    """Return one line of a list of cases; nothing of the circuit is read but its title."""
    counted = [stored.event for stored in standing(events)]
    opened = next(e for e in counted if isinstance(e, Opened))
    circuits = [e.title for e in counted if isinstance(e, CircuitChosen)]
    vehicle = opened.vehicle
    return {
        "case": case,
        "opened_at": events[0].at.isoformat(),
        "last_at": events[-1].at.isoformat(),
        "order": opened.order,
        "vehicle": " ".join(str(part) for part in (vehicle.year, vehicle.make, vehicle.model) if part),
        "circuit": circuits[-1] if circuits else "",
        "status": _status(counted),
        "events": len(events),
        "concern": opened.concern,
        "codes": list(opened.codes),
        "identification": vehicle.identification,
        "plate": vehicle.plate,
        "customer": opened.customer,
        "invented": opened.invented,
    }


def _status(counted: Sequence[Event]) -> str:
    """Return `closed`, `waiting` (for the vehicle) or `open`, as the state of the case has it."""
    if any(isinstance(event, Closed) for event in counted):
        return "closed"
    told = [event for event in counted if isinstance(event, VehicleNoted) or _hands_on(event)]
    return "waiting" if told and isinstance(told[-1], VehicleNoted) and not told[-1].here else "open"


def _hands_on(event: Event) -> bool:
    """Say whether an event is work on the vehicle, which is here then."""
    if isinstance(event, OutcomeNoted):
        return not event.past
    return isinstance(
        event, AccessDone | CaptureAttached | HarnessChecked | ReadingNoted | RepairNoted | RepairProven | SetupDone
    )


def history_twin(row: HistoryRow, circuit: Circuit) -> dict[str, Any]:
    """Return what one entry did."""
    done = row.consequence
    return {
        "number": row.entry.number,
        "text": entry_text(row.entry.event, circuit),
        "minutes": row.entry.minutes,
        "parts": row.entry.parts,
        "limit": asdict(row.limit) if row.limit else None,
        "expected": asdict(row.expected) if row.expected else None,
        "verdict": row.verdict,
        "limit_note": row.limit_note,
        "ruled_out": list(done.ruled_out) if done else [],
        "raised": opinions_twin(done.raised) if done else [],
        "consequence": done.text if done else "",
        "suspects": opinions_twin(row.suspects),
        "explained": row.explained,
        "problem": row.entry.problem,
    }


def effect_twin(case: int, done: Recorded, rows: Sequence[HistoryRow]) -> dict[str, Any]:
    """Return what a recorded entry did to the record and to the belief; `rows` is the history of the case after it."""
    row = next(row for row in rows if row.entry.number == done.stored.number)
    return {
        **recorded_twin(case, done),
        "effect": history_twin(row, done.after.circuit),
        "then": _THEN[done.after.phase],
    }


def recorded_twin(case: int, done: Recorded) -> dict[str, Any]:
    """Return what recording an event did to the record."""
    spent = next((e for e in done.after.entries if e.number == done.stored.number), None)
    return {
        "case": case,
        "number": done.stored.number,
        "kind": done.stored.event.kind,
        "text": entry_text(done.stored.event, done.after.circuit),
        "minutes": spent.minutes if spent else 0.0,
        "parts": spent.parts if spent else 0.0,
        "currency": done.after.opened.currency,
        "opened_access": [done.after.circuit.access[name].title for name in spent.opened] if spent else [],
        "phase": done.after.phase,
        "no_longer": [
            {"number": e.number, "text": entry_text(e.event, done.after.circuit), "problem": e.problem}
            for e in done.no_longer
        ],
    }
