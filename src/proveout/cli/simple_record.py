"""Notes one event and says what it did to the record, for commands that need no belief."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from proveout.cases.events import Event
from proveout.cases.twins import recorded_twin
from proveout.cli.lines import labelled
from proveout.cli.options import say
from proveout.cli.record_lines import record_lines
from proveout.cli.workplace import Workplace

__all__ = ["note_event"]


def note_event(place: Workplace, event: Event, then: str = "proveout next", warning: str = "") -> None:
    """Store an event of the case and print it, with a warning where there is one."""
    twin = {**recorded_twin(place.case, place.record(event)), "warning": warning, "then": then}
    say(twin, _lines, as_json=place.as_json)


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield from record_lines(twin)
    yield from labelled("Warning", twin["warning"])
    yield from labelled("Then", twin["then"])
