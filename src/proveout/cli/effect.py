"""What an entry did to the record and to the belief, as plain data."""

from __future__ import annotations

from typing import Any

from proveout.cases.desk import Recorded
from proveout.cases.history import histories
from proveout.cases.twins import effect_twin as twin_of
from proveout.cli.workplace import Workplace

__all__ = ["effect_twin"]


def effect_twin(place: Workplace, done: Recorded) -> dict[str, Any]:
    """Return the twin of a recorded entry with what it did to the belief."""
    return twin_of(place.case, done, histories(place.model(done.after), done.after))
