"""What a correction changed, in one line: the entry as it stood before, and as it stands now."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.cases.corrections import standing
from proveout.cases.entry_text import entry_text
from proveout.cases.events import Correction, Event
from proveout.cases.store import StoredEvent
from proveout.circuits.schema import Circuit

__all__ = ["log_text"]


def log_text(events: Sequence[StoredEvent], stored: StoredEvent, circuit: Circuit) -> str:
    """Return one event of a case in one line; of a correction with what it changed.

    Parameters
    ----------
    events : sequence of StoredEvent
        All of the case, in order.
    """
    change = stored.event
    if not isinstance(change, Correction):
        return entry_text(change, circuit)
    earlier = [event for event in events if event.number < stored.number]
    target = next(event for event in earlier if event.number == change.corrects)
    because = f" ({change.because})" if change.because else ""
    if change.payload is None:
        return f"Entry {change.corrects} taken back: {_as_it_stood(earlier, target, circuit)}{because}"
    old = _standing(earlier, target.number) or target.event
    new = _standing([*earlier, stored], target.number) or old
    return f"Entry {change.corrects} corrected: {_difference(old, new, circuit)}{because}"


def _as_it_stood(earlier: Sequence[StoredEvent], target: StoredEvent, circuit: Circuit) -> str:
    if isinstance(target.event, Correction):
        return log_text(earlier, target, circuit)
    return entry_text(_standing(earlier, target.number) or target.event, circuit)


def _standing(events: Sequence[StoredEvent], number: int) -> Event | None:
    return next((stored.event for stored in standing(events) if stored.number == number), None)


def _difference(old: Event, new: Event, circuit: Circuit) -> str:
    """Return old and new in the words of the record, by fields where the words are the same."""
    before, after = entry_text(old, circuit), entry_text(new, circuit)
    if before != after:
        return f"was {before}; now {after}"
    fields = [name for name in type(old).model_fields if getattr(old, name) != getattr(new, name)]
    changed = [f"{name} was {getattr(old, name)}, now {getattr(new, name)}" for name in fields]
    return "; ".join([before, *changed]) if changed else f"{before}; nothing changed"
