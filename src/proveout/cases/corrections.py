"""Which events stand: an event that was withdrawn is left out, one that was replaced is read in its new form.

Corrections are read from the last to the first, so that a correction which was itself withdrawn has no effect.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from proveout.cases.events import AdviceShown, CircuitChosen, Correction, Event, Opened, decode
from proveout.cases.store import StoredEvent
from proveout.errors import InputError, StoreError

__all__ = ["Fate", "check_correction", "check_number", "fates", "standing"]


@dataclass(frozen=True)
class Fate:
    """What became of a corrected event: the number of the correction, and whether it left a replacement."""

    by: int
    replacement: Event | None


def fates(events: Sequence[StoredEvent]) -> Mapping[int, Fate]:
    """Return what became of each corrected event, by its number; events that stand as they are have no entry."""
    found: dict[int, Fate] = {}
    kinds = {stored.number: stored.event for stored in events}
    for stored in reversed(events):
        change = stored.event
        if not isinstance(change, Correction) or stored.number in found or change.corrects in found:
            continue
        found[change.corrects] = Fate(stored.number, _replacement(kinds[change.corrects], change))
    return found


def standing(events: Sequence[StoredEvent]) -> tuple[StoredEvent, ...]:
    """Return the events that count, in their last form and in order, without the corrections themselves."""
    changed = fates(events)
    kept: list[StoredEvent] = []
    for stored in events:
        fate = changed.get(stored.number)
        event = stored.event if fate is None else fate.replacement
        if event is not None and not isinstance(event, Correction):
            kept.append(replace(stored, event=event))
    return tuple(kept)


def check_number(events: Sequence[StoredEvent], number: int) -> None:
    """Check that a case has an entry of this number; InputError when it has none."""
    if all(stored.number != number for stored in events):
        raise InputError(f"there is no entry {number} in this case, it has {len(events)}: 'proveout log' lists them")


def check_correction(events: Sequence[StoredEvent], change: Correction) -> None:
    """Check that a correction can be made.

    Raises
    ------
    InputError
        The event does not exist, cannot be withdrawn or replaced, or the replacement cannot be read.
    """
    check_number(events, change.corrects)
    target = next(stored.event for stored in events if stored.number == change.corrects)
    if change.corrects in fates(events) and change.payload is None:
        raise InputError(f"event {change.corrects} was corrected already: 'proveout log' shows by which event")
    if isinstance(target, AdviceShown):
        raise InputError(f"event {change.corrects} is advice that was shown, which stays as it was")
    if change.payload is None and isinstance(target, Opened | CircuitChosen):
        raise InputError(
            f"event {change.corrects} is '{target.kind}', without which there is no case: replace it, "
            "or choose another circuit with 'proveout sheet'"
        )
    if change.payload is not None and isinstance(target, Correction):
        raise InputError(f"event {change.corrects} is a correction itself: withdraw it, then correct anew")
    try:
        _replacement(target, change)
    except StoreError as error:
        raise InputError(f"the replacement for event {change.corrects} cannot be read: {error}") from error


def _replacement(target: Event, change: Correction) -> Event | None:
    if change.payload is None:
        return None
    return decode(target.kind, target.version, json.dumps(change.payload))
