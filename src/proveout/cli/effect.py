"""What an entry did to the record and to the belief, as plain data."""

from __future__ import annotations

from typing import Any

from proveout.cases.desk import Recorded
from proveout.cases.history import histories
from proveout.cases.twins import history_twin, recorded_twin
from proveout.cli.workplace import Workplace

__all__ = ["effect_twin"]

_THEN = {
    "testing": "proveout next",
    "repaired": "proveout proof OUTCOME",
    "proven": "proveout report, proveout close",
    "closed": "proveout report",
}


def effect_twin(place: Workplace, done: Recorded) -> dict[str, Any]:
    """Return the twin of a recorded entry with what it did to the belief."""
    rows = histories(place.model(done.after), done.after)
    row = next(row for row in rows if row.entry.number == done.stored.number)
    return {
        **recorded_twin(place.case, done),
        "effect": history_twin(row, done.after.circuit),
        "then": _THEN[done.after.phase],
    }
