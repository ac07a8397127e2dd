"""The desk: everything that is done to cases, for every face to call.

An event is first folded into the case as it stands; only what the rules allow is stored.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from proveout.cases.case import chosen_circuit, replay
from proveout.cases.case_state import CaseState, Entry
from proveout.cases.corrections import check_correction, check_number, fates, standing
from proveout.cases.events import AdviceShown, CircuitChosen, Correction, Event, Opened
from proveout.cases.folding import complaint_evidence, fold, fold_leniently
from proveout.cases.store import CaseStore, StoredEvent
from proveout.errors import InputError

__all__ = ["Desk", "Recorded"]


# Events after which all that came before is read anew.
_REREAD = (Opened, CircuitChosen, Correction)


@dataclass(frozen=True)
class _Known:
    """A case as it was read last: after how many events, the seal of the last of them, its state."""

    length: int
    seal: str
    state: CaseState


@dataclass(frozen=True)
class Recorded:
    """What recording an event did: the event, the case before and after, entries that no longer count because of it."""

    stored: StoredEvent
    before: CaseState
    after: CaseState
    no_longer: tuple[Entry, ...] = ()


def _now() -> datetime:
    return datetime.now(UTC)


class Desk:
    """Cases of one store.

    Parameters
    ----------
    store : CaseStore
    clock : callable
        Gives the time with its zone.
    """

    def __init__(self, store: CaseStore, clock: Callable[[], datetime] = _now) -> None:
        self.store = store
        self._clock = clock
        self._known: dict[int, _Known] = {}

    def open(self, opened: Opened, circuit: CircuitChosen) -> int:
        """Open a case and return its number.

        Raises
        ------
        InputError
            The complaint names what the circuit does not have.
        CircuitError
            The circuit has mistakes.
        """
        complaint_evidence(chosen_circuit(circuit), opened.complaint, opened.codes)
        return self.store.open_case([opened, circuit], self._clock())

    def current(self) -> int:
        """Return the current case; InputError when there is none."""
        case = self.store.current()
        if case is None:
            raise InputError("there is no case yet: open one with 'proveout open'")
        return case

    def find(self, text: str) -> int:
        """Return the case of a number, or of the workshop's own number of the job (the newest such case).

        Raises
        ------
        InputError
            There is none.
        """
        if text.isdecimal():
            return int(text)
        for case in reversed(self.store.cases()):
            if self.opening(case).order == text:
                return case
        raise InputError(f"there is no case of a job '{text}': 'proveout cases --all' lists them")

    def opening(self, case: int) -> Opened:
        """Return the opening of a case, corrected."""
        return next(e.event for e in standing(self.store.events(case)) if isinstance(e.event, Opened))

    def events(self, case: int) -> tuple[StoredEvent, ...]:
        """Return the events of a case; raises as `CaseStore.events`."""
        return self.store.events(case)

    def state(self, case: int) -> CaseState:
        """Return a case as it stands; raises as `replay`."""
        return self.read(case, self.store.events(case))

    def read(self, case: int, events: tuple[StoredEvent, ...]) -> CaseState:
        """Return what follows from the events of a case; what was read before is not read again; raises as `replay`."""
        known = self._known.get(case)
        state = None if known is None else _read_on(known, events)
        found = replay(events) if state is None else state
        self._known[case] = _Known(len(events), events[-1].seal, found)
        return found

    def record(self, case: int, event: Event) -> Recorded:
        """Store an event when the rules of the record allow it.

        Raises
        ------
        InputError, BlockedError
            They do not; nothing is stored.
        """
        events = self.store.events(case)
        before = self.read(case, events)
        self._try(events, before, event)
        (stored,) = self.store.append(case, [event], self._clock())
        after = self.read(case, (*events, stored) if stored.number == len(events) + 1 else self.store.events(case))
        known = {entry.number for entry in before.uncounted}
        lost = tuple(entry for entry in after.uncounted if entry.number not in known)
        return Recorded(stored, before, after, lost)

    def last_undoable(self, case: int) -> StoredEvent:
        """Return the last event that can be taken back; InputError when there is none."""
        events = self.store.events(case)
        fate = fates(events)
        kept = (Opened, CircuitChosen, AdviceShown, Correction)
        found = [e for e in events if e.number not in fate and not isinstance(e.event, kept)]
        if not found:
            raise InputError("there is nothing to take back in this case")
        return found[-1]

    def replacement(self, case: int, number: int, changes: dict[str, object]) -> Correction:
        """Return the correction that changes some fields of an event as it stands.

        Raises
        ------
        InputError
            There is no such event, or it has no such field.
        """
        events = self.store.events(case)
        check_number(events, number)
        found = next((e.event for e in standing(events) if e.number == number), None)
        if found is None:
            raise InputError(f"entry {number} of case {case} counts no more: 'proveout log' shows why")
        unknown = [name for name in changes if name not in type(found).model_fields]
        if unknown:
            fields = ", ".join(type(found).model_fields)
            raise InputError(f"event {number} ('{found.kind}') has no '{unknown[0]}'; it has: {fields}")
        return Correction(corrects=number, payload={**json.loads(found.model_dump_json()), **changes})

    def _try(self, events: tuple[StoredEvent, ...], before: CaseState, event: Event) -> None:
        trial = StoredEvent(len(events) + 1, self._clock(), event, "")
        if isinstance(event, Correction):
            check_correction(events, event)
            replay((*events, trial))
        elif isinstance(event, CircuitChosen):
            replay((*events, trial))
        else:
            fold(before, trial)


def _read_on(known: _Known, events: Sequence[StoredEvent]) -> CaseState | None:
    """Return a case read on from where it was known; None where all of it must be read anew."""
    added = events[known.length :]
    same = len(events) >= known.length and events[known.length - 1].seal == known.seal
    if not same or any(isinstance(stored.event, _REREAD) for stored in added):
        return None
    state = known.state
    for stored in added:
        state = fold_leniently(state, stored)
    return state
