"""What a case store owes: append-only events, numbered within their case and sealed in a chain."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import NamedTuple, Protocol

from proveout.cases.chain import FIRST, seal
from proveout.cases.events import Event, decode, encode
from proveout.errors import InputError, StoreError

__all__ = ["CaseStore", "Row", "StoredEvent", "no_such_case", "read_rows", "seal_events"]


class Row(NamedTuple):
    """An event as it is written down; `at` is UTC in ISO 8601 with microseconds, seals are SHA-256 in hexadecimal."""

    number: int
    at: str
    kind: str
    version: int
    payload: str
    previous: str
    seal: str


@dataclass(frozen=True)
class StoredEvent:
    """An event with its place in its case (from 1, without gaps) and the time it was stored (UTC)."""

    number: int
    at: datetime
    event: Event
    seal: str


class CaseStore(Protocol):
    """A place where cases are kept. Events can be added, never changed or removed."""

    def open_case(self, events: Sequence[Event], at: datetime) -> int:
        """Store a new case with its first events, all or none, and return its number; it becomes the current case."""
        ...

    def append(self, case: int, events: Sequence[Event], at: datetime) -> tuple[StoredEvent, ...]:
        """Add events to a case, all or none, behind whatever other writers have added meanwhile.

        Raises
        ------
        InputError
            There is no such case.
        StoreError
            They could not be stored; what was stored before is kept.
        """
        ...

    def events(self, case: int, *, sealed: bool = True) -> tuple[StoredEvent, ...]:
        """Return the events of a case in order.

        Raises
        ------
        InputError
            There is no such case.
        StoreError
            The store cannot be read, or a seal is broken. With `sealed=False` seals are not looked at.
        """
        ...

    def cases(self) -> tuple[int, ...]:
        """Return the numbers of all cases, oldest first."""
        ...

    def lengths(self) -> Mapping[int, int]:
        """Return how many events each case has, oldest case first."""
        ...

    def current(self) -> int | None:
        """Return the case last opened or chosen, None in an empty store."""
        ...

    def make_current(self, case: int) -> None:
        """Choose the current case; InputError when there is no such case."""
        ...

    def close(self) -> None:
        """Let go of files."""
        ...


def seal_events(case: int, last: Row | None, events: Iterable[Event], at: datetime) -> tuple[Row, ...]:
    """Return events numbered and sealed behind the row `last`.

    Raises
    ------
    InputError
        The time has no zone.
    """
    if at.tzinfo is None:
        raise InputError(f"time {at.isoformat()} has no zone, and the record is kept in UTC: give a zone")
    time = at.astimezone(UTC).isoformat(timespec="microseconds")
    rows: list[Row] = []
    for event in events:
        before = rows[-1] if rows else last
        number, previous = (before.number + 1, before.seal) if before else (1, FIRST)
        payload = encode(event)
        own = seal(previous, case, number, time, event.kind, event.version, payload)
        rows.append(Row(number, time, event.kind, event.version, payload, previous, own))
    return tuple(rows)


def read_rows(case: int, rows: Sequence[Row], *, sealed: bool = True) -> tuple[StoredEvent, ...]:
    """Return the events of rows.

    Raises
    ------
    StoreError
        A payload cannot be read, or, unless `sealed` is false, an event was changed, removed or put in between.
    """
    if sealed:
        _check_chain(case, rows)
    return tuple(
        StoredEvent(row.number, datetime.fromisoformat(row.at), decode(row.kind, row.version, row.payload), row.seal)
        for row in rows
    )


def no_such_case(case: int, known: Sequence[int]) -> InputError:
    """Return the error that a case does not exist."""
    there = f"the last one is {known[-1]}" if known else "the store is empty: start one with 'proveout open'"
    return InputError(f"there is no case {case}; {there}")


def _check_chain(case: int, rows: Sequence[Row]) -> None:
    previous = FIRST
    for place, row in enumerate(rows, 1):
        own = seal(previous, case, place, row.at, row.kind, row.version, row.payload)
        if (row.number, row.previous, row.seal) != (place, previous, own):
            raise StoreError(
                f"event {place} of case {case} does not match its seal: the store was changed outside Proveout. "
                f"Events 1 to {place - 1} are sound. Restore the store from a copy, or read it as it stands with "
                f"'proveout log --case {case} --unsealed'"
            )
        previous = own
