"""The case store on disk: one SQLite file in write-ahead mode, every append one transaction."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, create_engine, event, func, insert, inspect, select, text
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.pool import NullPool

from proveout.cases import tables
from proveout.cases.events import Event
from proveout.cases.store import Row, StoredEvent, no_such_case, read_rows, seal_events
from proveout.errors import StoreError

__all__ = ["SqliteStore"]

_BUSY_SECONDS = 10.0
_RETRIES = 4
_ROW = (
    tables.events.c.number,
    tables.events.c.at,
    tables.events.c.kind,
    tables.events.c.version,
    tables.events.c.payload,
    tables.events.c.previous,
    tables.events.c.seal,
)
Result = TypeVar("Result")


class SqliteStore:
    """Cases in one SQLite file.

    Raises
    ------
    StoreError
        The file cannot be made, opened, read or brought to this program's schema.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        _make_folder(path)
        self._engine = _engine(path)
        self._unwritable: StoreError | None = None
        try:
            with _spoken(path, "opened"):
                self._migrate()
        except StoreError as error:
            self._fall_back(error)

    def open_case(self, events: Sequence[Event], at: datetime) -> int:
        """See `CaseStore.open_case`."""

        def work(connection: Connection) -> int:
            case = _next_case(connection)
            rows = seal_events(case, None, events, at)
            connection.execute(insert(tables.cases).values(id=case, at=rows[0].at))
            _insert(connection, case, rows)
            _set_current(connection, case)
            return case

        return self._write(work)

    def append(self, case: int, events: Sequence[Event], at: datetime) -> tuple[StoredEvent, ...]:
        """See `CaseStore.append`."""

        def work(connection: Connection) -> tuple[Row, ...]:
            rows = seal_events(case, _last(connection, case), events, at)
            _insert(connection, case, rows)
            return rows

        return read_rows(case, self._write(work), sealed=False)

    def events(self, case: int, *, sealed: bool = True) -> tuple[StoredEvent, ...]:
        """See `CaseStore.events`."""

        def work(connection: Connection) -> list[Row]:
            _check_case(connection, case)
            query = select(*_ROW).where(tables.events.c.case_id == case).order_by(tables.events.c.number)
            return [Row(*row) for row in connection.execute(query)]

        return read_rows(case, self._read(work), sealed=sealed)

    def cases(self) -> tuple[int, ...]:
        """See `CaseStore.cases`."""
        return self._read(_known)

    def lengths(self) -> Mapping[int, int]:
        """See `CaseStore.lengths`."""
        return self._read(_lengths)

    def current(self) -> int | None:
        """See `CaseStore.current`."""
        return self._read(lambda connection: connection.scalar(select(tables.current_case.c.case_id)))

    def make_current(self, case: int) -> None:
        """See `CaseStore.make_current`."""

        def work(connection: Connection) -> None:
            _check_case(connection, case)
            _set_current(connection, case)

        self._write(work)

    def close(self) -> None:
        """See `CaseStore.close`."""
        self._engine.dispose()

    def _read(self, work: Callable[[Connection], Result]) -> Result:
        with _spoken(self.path, "read"), self._engine.connect() as connection:
            return work(connection)

    def _write(self, work: Callable[[Connection], Result]) -> Result:
        """Do `work` in one transaction; when another writer took the number first, look again and retry."""
        if self._unwritable is not None:
            raise StoreError(str(self._unwritable)) from self._unwritable
        with _spoken(self.path, "written"):
            for _ in range(_RETRIES):
                with suppress(IntegrityError):
                    return self._once(work)
            return self._once(work)

    def _once(self, work: Callable[[Connection], Result]) -> Result:
        with self._engine.execution_options(writes=True).begin() as connection:
            return work(connection)

    def _fall_back(self, error: StoreError) -> None:
        """Open a store that cannot be written for reading only, else raise the error.

        Only where no write-ahead file holds events that the store's own file has not yet.
        """
        if _code(error.__cause__) not in _STILL_READABLE or not self.path.is_file() or _has_log(self.path):
            raise error
        self._engine = _reading_engine(self.path)
        with _spoken(self.path, "read"), self._engine.connect() as connection:
            if _revision(connection) != tables.HEAD:
                raise error
        self._unwritable = error

    def _migrate(self) -> None:
        with self._engine.connect() as connection:
            revision = _revision(connection)
        if revision == tables.HEAD:
            return
        if revision is not None and revision > tables.HEAD:
            raise StoreError(
                f"{self.path} was written by a newer Proveout (schema {revision}, this one knows {tables.HEAD}): "
                "update Proveout, or choose another store with --store"
            )
        # Alembic is slow to import and needed only when a store is new or old.
        from proveout.cases.migrations import upgrade

        self._once(upgrade)


def _make_folder(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            f"{path.parent}: the folder of the case store cannot be made ({error.strerror}): choose a place you may "
            "write to with --store or PROVEOUT_STORE"
        ) from error


def _engine(path: Path) -> Engine:
    engine = create_engine(
        URL.create("sqlite", database=str(path)), connect_args={"timeout": _BUSY_SECONDS}, poolclass=NullPool
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _reading_engine(path: Path) -> Engine:
    """Return an engine that makes no files beside the store, as one on a full or write-protected disk must."""

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(f"file:{quote(str(path))}?mode=ro&immutable=1", uri=True)

    return create_engine("sqlite://", creator=connect, poolclass=NullPool)


def _has_log(path: Path) -> bool:
    log = path.with_name(path.name + "-wal")
    return log.exists() and log.stat().st_size > 0


def _prepare(connection: Any, record: object) -> None:
    connection.isolation_level = None
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _revision(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.scalar(text("SELECT version_num FROM alembic_version"))


def _known(connection: Connection) -> tuple[int, ...]:
    return tuple(connection.scalars(select(tables.cases.c.id).order_by(tables.cases.c.id)))


def _lengths(connection: Connection) -> dict[int, int]:
    case = tables.events.c.case_id
    query = select(case, func.max(tables.events.c.number)).group_by(case).order_by(case)
    return {row[0]: row[1] for row in connection.execute(query)}


def _next_case(connection: Connection) -> int:
    return (connection.scalar(select(func.max(tables.cases.c.id))) or 0) + 1


def _check_case(connection: Connection, case: int) -> None:
    if connection.scalar(select(tables.cases.c.id).where(tables.cases.c.id == case)) is None:
        raise no_such_case(case, _known(connection))


def _last(connection: Connection, case: int) -> Row | None:
    _check_case(connection, case)
    query = select(*_ROW).where(tables.events.c.case_id == case).order_by(tables.events.c.number.desc()).limit(1)
    found = connection.execute(query).first()
    return Row(*found) if found else None


def _insert(connection: Connection, case: int, rows: Sequence[Row]) -> None:
    connection.execute(insert(tables.events), [{"case_id": case, **row._asdict()} for row in rows])


def _set_current(connection: Connection, case: int) -> None:
    connection.execute(text("INSERT OR REPLACE INTO current_case (only, case_id) VALUES (1, :case)"), {"case": case})


@contextmanager
def _spoken(path: Path, doing: str) -> Iterator[None]:
    """Turn a fault of the database into one sentence that says what to do."""
    try:
        yield
    except DBAPIError as error:
        raise StoreError(f"{path}: the case store cannot be {doing} ({error.orig}). {_way_out(error)}") from error


def _code(error: BaseException | None) -> int | None:
    """Return SQLite's primary result code of an error, None where it is no error of SQLite."""
    code = getattr(error.orig, "sqlite_errorcode", None) if isinstance(error, DBAPIError) else None
    return code & 0xFF if isinstance(code, int) else None


def _way_out(error: DBAPIError) -> str:
    return _WAYS_OUT.get(
        _code(error), "What was stored before is kept; try again, or choose another store with --store"
    )


_STILL_READABLE = (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN)
_WAYS_OUT: dict[int | None, str] = {
    sqlite3.SQLITE_FULL: "The disk is full: free some space and give the command again. What was stored before is kept",
    sqlite3.SQLITE_IOERR: (
        "The disk does not take or give data (full, unplugged or failing): check it and give the command again. "
        "What was stored before is kept"
    ),
    sqlite3.SQLITE_READONLY: (
        "The file or its folder is write-protected: change that, or choose another store with --store or PROVEOUT_STORE"
    ),
    sqlite3.SQLITE_CANTOPEN: (
        "It cannot be opened: check that the folder exists and that you may write to it, or choose another store with "
        "--store or PROVEOUT_STORE"
    ),
    sqlite3.SQLITE_NOTADB: (
        "The file is damaged or is no case store: keep it aside, do not write over it, and restore it from a copy"
    ),
    sqlite3.SQLITE_CORRUPT: ("The file is damaged: keep it aside, do not write over it, and restore it from a copy"),
    sqlite3.SQLITE_BUSY: "Another program is writing to it: wait until it has finished and give the command again",
}
