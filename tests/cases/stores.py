"""Stores and events for the tests of cases."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from proveout.cases.events import Event, Note, Opened
from proveout.cases.memory_store import MemoryStore
from proveout.cases.sqlite_store import SqliteStore
from proveout.cases.store import CaseStore

KINDS = ("memory", "sqlite")
NOON = datetime(2031, 3, 5, 12, 0, tzinfo=UTC)


@contextmanager
def a_store(kind: str, folder: Path) -> Iterator[CaseStore]:
    """Yield an empty store of a kind."""
    store: CaseStore = MemoryStore() if kind == "memory" else SqliteStore(folder / "cases.db")
    try:
        yield store
    finally:
        store.close()


def opened(concern: str = "cranks, does not start") -> tuple[Event, ...]:
    """Return the first event of an invented case."""
    return (Opened(concern=concern, invented=True),)


def notes(*texts: str) -> tuple[Event, ...]:
    """Return remarks."""
    return tuple(Note(text=text) for text in texts)
