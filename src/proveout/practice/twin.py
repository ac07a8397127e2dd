"""A practice and its end as plain data; nothing of the fault is in it before the vehicle was handed over."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from proveout.cases.answers import complaint_told
from proveout.cases.case_state import CaseState, Entry
from proveout.cases.entry_text import entry_text
from proveout.cases.events import CircuitChosen, Opened, ReadingNoted
from proveout.diagnosis import Model, limit_band
from proveout.diagnosis.limits import within
from proveout.practice.choices import choices_of
from proveout.practice.code import Task
from proveout.practice.ending import Ending, Path, side_by_side

__all__ = ["ending_twin", "practice_listing", "practice_twin"]


def practice_listing(number: int, task: Task, state: CaseState) -> dict[str, Any]:
    """Return one line of a list of practices."""
    return {
        "number": number,
        "code": task.code,
        "circuit": {"name": task.circuit, "title": state.circuit.title},
        "difficulty": task.difficulty,
        "seed": task.seed,
        "opened_at": state.opened_at.isoformat(),
        "phase": state.phase,
        "minutes": state.minutes,
        "money": state.labour + state.parts,
        "currency": state.opened.currency,
    }


def practice_twin(number: int, task: Task, state: CaseState, model: Model) -> dict[str, Any]:
    """Return a practice at a glance, with everything that can be done now."""
    proof = state.circuit.behaviours[state.circuit.proof]
    return {
        **practice_listing(number, task, state),
        "complaint": list(complaint_told(state.opened.complaint, state.circuit)),
        "codes": list(state.opened.codes),
        "setup": state.circuit.setups[state.setup].title if state.setup else "",
        "opened_access": [state.circuit.access[name].title for name in sorted(state.access)],
        "compared": sorted(state.seen),
        "repaired": state.repair.suspect if state.repair else "",
        "proof": proof.title,
        "log": [
            _entry_twin(entry, state, model)
            for entry in state.entries
            if not isinstance(entry.event, Opened | CircuitChosen)
        ],
        "choices": [] if state.phase == "closed" else [asdict(choice) for choice in choices_of(state)],
    }


def ending_twin(ending: Ending) -> dict[str, Any]:
    """Return the truth and both paths; `together` has them on one clock."""
    rows = side_by_side(ending.own.legs, ending.planner.legs)
    return {
        "truth": asdict(ending.truth),
        "own": _path_twin(ending.own),
        "planner": _path_twin(ending.planner),
        "together": [
            {"until": until, "own": asdict(own) if own else None, "planner": asdict(planner) if planner else None}
            for until, own, planner in rows
        ],
    }


def _path_twin(path: Path) -> dict[str, Any]:
    return {**asdict(path), "whole": path.whole}


def _entry_twin(entry: Entry, state: CaseState, model: Model) -> dict[str, Any]:
    event, limit, verdict = entry.event, None, ""
    if isinstance(event, ReadingNoted):
        limit = limit_band(model, event.measurement)
        if limit is not None and event.reading.taken:
            verdict = "good" if within(limit, event.value, event.over_limit) else "bad"
    return {
        "number": entry.number,
        "kind": event.kind,
        "text": entry_text(event, state.circuit),
        "minutes": entry.minutes,
        "parts": entry.parts,
        "opened_access": [state.circuit.access[name].title for name in entry.opened],
        "setup": state.circuit.setups[entry.setup].title if entry.setup else "",
        "limit": limit.shown if limit else "",
        "verdict": verdict,
        "live": isinstance(event, ReadingNoted) and not event.reading.taken,
    }
