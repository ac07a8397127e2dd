"""A case store that lives as long as the process: for trying out and for tests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from threading import Lock

from proveout.cases.events import Event
from proveout.cases.store import Row, StoredEvent, no_such_case, read_rows, seal_events

__all__ = ["MemoryStore"]


class MemoryStore:
    """Cases kept in memory, with the same contract as the store on disk."""

    def __init__(self) -> None:
        self._rows: dict[int, tuple[Row, ...]] = {}
        self._current: int | None = None
        self._lock = Lock()

    def open_case(self, events: Sequence[Event], at: datetime) -> int:
        """See `CaseStore.open_case`."""
        with self._lock:
            case = len(self._rows) + 1
            self._rows[case] = seal_events(case, None, events, at)
            self._current = case
        return case

    def append(self, case: int, events: Sequence[Event], at: datetime) -> tuple[StoredEvent, ...]:
        """See `CaseStore.append`."""
        with self._lock:
            rows = self._of(case)
            added = seal_events(case, rows[-1] if rows else None, events, at)
            self._rows[case] = (*rows, *added)
        return read_rows(case, added, sealed=False)

    def events(self, case: int, *, sealed: bool = True) -> tuple[StoredEvent, ...]:
        """See `CaseStore.events`."""
        return read_rows(case, self._of(case), sealed=sealed)

    def cases(self) -> tuple[int, ...]:
        """See `CaseStore.cases`."""
        return tuple(self._rows)

    def lengths(self) -> Mapping[int, int]:
        """See `CaseStore.lengths`."""
        return {case: len(rows) for case, rows in self._rows.items()}

    def current(self) -> int | None:
        """See `CaseStore.current`."""
        return self._current

    def make_current(self, case: int) -> None:
        """See `CaseStore.make_current`."""
        self._of(case)
        self._current = case

    def close(self) -> None:
        """See `CaseStore.close`."""

    def _of(self, case: int) -> tuple[Row, ...]:
        if case not in self._rows:
            raise no_such_case(case, self.cases())
        return self._rows[case]
