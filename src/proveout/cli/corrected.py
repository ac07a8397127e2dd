"""Notes a correction and says what it changed: the entry before and after, and the belief that is left."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from proveout.cases.correction_text import log_text
from proveout.cases.events import Correction
from proveout.cases.history import believe
from proveout.cases.twins import recorded_twin
from proveout.cases.twins.advice_twin import opinions_twin
from proveout.cli.lines import labelled
from proveout.cli.options import say
from proveout.cli.record_lines import now_lines, record_lines
from proveout.cli.workplace import Workplace

__all__ = ["note_correction"]


def note_correction(place: Workplace, event: Correction) -> None:
    """Store a correction of the case and print what it changed."""
    done = place.record(event)
    suspects = believe(place.model(done.after), done.after).suspects()
    twin = {
        **recorded_twin(place.case, done),
        "text": log_text(place.desk.events(place.case), done.stored, done.after.circuit),
        "suspects": opinions_twin(suspects),
        "then": "proveout next",
    }
    say(twin, _lines, as_json=place.as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield from record_lines(twin)
    yield from now_lines(twin["suspects"])
    yield from labelled("Then", twin["then"])
