"""The store on disk: it outlives the process, cannot be changed in silence, and says what to do when the disk fails."""

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, create_engine, event

from cases.stores import NOON, notes, opened
from proveout.cases import migrations, tables
from proveout.cases.sqlite_store import SqliteStore
from proveout.errors import StoreError


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "shop" / "cases.db"


def _with_three_events(path: Path) -> SqliteStore:
    store = SqliteStore(path)
    store.append(store.open_case(opened(), NOON), notes("first", "second"), NOON)
    return store


def _tamper(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute(statement)


@contextmanager
def _disk_of_the_present_size() -> Iterator[None]:
    def limit(connection: sqlite3.Connection, record: object) -> None:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages}")

    event.listen(Engine, "connect", limit)
    try:
        yield
    finally:
        event.remove(Engine, "connect", limit)


def test_events_are_there_after_the_store_is_opened_again(path: Path) -> None:
    before = _with_three_events(path).events(1)
    again = SqliteStore(path)
    assert again.events(1) == before
    assert again.current() == 1


def test_the_migrations_make_the_tables_that_the_program_uses(path: Path) -> None:
    SqliteStore(path)
    engine = create_engine(f"sqlite:///{path}")
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), tables.metadata) == []
    engine.dispose()


def test_the_schema_the_program_knows_is_the_newest_migration() -> None:
    script = ScriptDirectory(str(Path(migrations.__file__).parent))
    assert script.get_current_head() == tables.HEAD


def test_opening_an_up_to_date_store_does_not_import_alembic(path: Path) -> None:
    SqliteStore(path)
    code = (
        "import sys; from pathlib import Path; from proveout.cases.sqlite_store import SqliteStore; "
        "SqliteStore(Path(sys.argv[1])).cases(); sys.exit('alembic' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code, str(path)], check=False).returncode == 0


@pytest.mark.parametrize(
    "statement",
    ["UPDATE events SET payload = '{}' WHERE number = 2", "DELETE FROM events WHERE number = 3", "DELETE FROM cases"],
)
def test_the_file_itself_refuses_to_change_or_remove_events(path: Path, statement: str) -> None:
    _with_three_events(path)
    with pytest.raises(sqlite3.IntegrityError, match="only ever added to"):
        _tamper(path, statement)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET payload = replace(payload, 'first', 'other') WHERE number = 2",
        "UPDATE events SET at = '2031-03-05T11:00:00.000000+00:00' WHERE number = 2",
        "DELETE FROM events WHERE number = 2",
    ],
)
def test_a_change_behind_the_triggers_shows_and_the_sound_events_are_named(path: Path, statement: str) -> None:
    store = _with_three_events(path)
    _tamper(path, "DROP TRIGGER events_no_update")
    _tamper(path, "DROP TRIGGER events_no_delete")
    _tamper(path, statement)
    with pytest.raises(StoreError, match=r"event 2 of case 1 .*Events 1 to 1 are sound.*--unsealed"):
        store.events(1)
    assert store.events(1, sealed=False)


def test_the_same_case_and_number_cannot_be_stored_twice(path: Path) -> None:
    _with_three_events(path)
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
        _tamper(
            path, "INSERT INTO events SELECT case_id, number, at, kind, version, payload, previous, 'x' FROM events"
        )


def test_a_full_disk_loses_no_event_and_says_what_to_do(path: Path) -> None:
    before = _with_three_events(path).events(1)
    with _disk_of_the_present_size():
        full = SqliteStore(path)
        with pytest.raises(StoreError, match=r"disk is full: free some space and give the command again"):
            full.append(1, notes("x" * 100_000), NOON)
        assert full.events(1) == before
    after = SqliteStore(path)
    after.append(1, notes("x" * 100_000), NOON)
    assert after.events(1)[:3] == before


@contextmanager
def _disk_that_takes_nothing() -> Iterator[None]:
    def refuse(connection: sqlite3.Connection, record: object) -> None:
        connection.execute("PRAGMA query_only = 1")

    event.listen(Engine, "connect", refuse)
    try:
        yield
    finally:
        event.remove(Engine, "connect", refuse)


def test_a_write_protected_store_says_so_and_is_still_read(path: Path) -> None:
    before = _with_three_events(path).events(1)
    store = SqliteStore(path)
    with _disk_that_takes_nothing():
        with pytest.raises(StoreError, match=r"readonly.*write-protected: change that, or choose another store"):
            store.append(1, notes("late"), NOON)
        assert store.events(1) == before


def test_a_store_beside_which_no_file_can_be_made_is_still_read(path: Path) -> None:
    # SQLite wants a file beside the store to open it in write-ahead mode: a folder of that name stands for a disk
    # that is full to the last byte.
    before = _with_three_events(path).events(1)
    for beside in ("-wal", "-shm", "-journal"):
        path.with_name(path.name + beside).mkdir()
    path.with_name(path.name + "-wal").rmdir()
    store = SqliteStore(path)
    assert store.events(1) == before
    assert (store.cases(), store.current()) == ((1,), 1)
    for write in (lambda: store.append(1, notes("late"), NOON), lambda: store.make_current(1)):
        with pytest.raises(StoreError, match=r"cannot be opened.*--store|What was stored before is kept"):
            write()


def test_a_damaged_file_is_left_alone_and_said_to_be_damaged(path: Path) -> None:
    _with_three_events(path)
    path.write_bytes(b"no store" * 600)
    with pytest.raises(StoreError, match=r"cases\.db.*damaged.*restore it from a copy"):
        SqliteStore(path)
    assert path.read_bytes().startswith(b"no store")


def test_a_file_damaged_in_the_middle_is_said_to_be_damaged(path: Path) -> None:
    store = SqliteStore(path)
    case = store.open_case(opened(), NOON)
    for _ in range(40):
        store.append(case, notes("x" * 2000), NOON)
    content = bytearray(path.read_bytes())
    content[8192:-8192] = b"\xff" * (len(content) - 16384)
    path.write_bytes(content)
    with pytest.raises(StoreError, match=r"damaged"):
        SqliteStore(path).events(case)


def test_a_folder_that_cannot_be_made_is_named_with_the_way_out(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StoreError, match=r"folder of the case store cannot be made.*--store or PROVEOUT_STORE"):
        SqliteStore(tmp_path / "file" / "cases.db")


def test_a_folder_that_takes_no_files_is_named_with_the_way_out() -> None:
    # /proc takes no files, not even from the superuser, unlike a folder whose write permission was taken away.
    with pytest.raises(StoreError, match=r"cannot be opened.*--store or PROVEOUT_STORE"):
        SqliteStore(Path("/proc/cases.db"))


def test_a_store_held_by_another_program_says_to_wait(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("proveout.cases.sqlite_store._BUSY_SECONDS", 0.1)
    store = _with_three_events(path)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match=r"Another program is writing"):
            store.append(1, notes("late"), NOON)
    assert len(store.events(1)) == 3


def test_a_store_of_a_newer_program_is_not_touched(path: Path) -> None:
    SqliteStore(path)
    _tamper(path, "UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreError, match=r"newer Proveout.*9999.*update Proveout"):
        SqliteStore(path)


def test_an_event_of_a_newer_program_is_not_guessed_at(path: Path) -> None:
    store = _with_three_events(path)
    _tamper(path, "DROP TRIGGER events_no_update")
    _tamper(path, "UPDATE events SET version = 9 WHERE number = 3")
    with pytest.raises(StoreError, match=r"'note' of version 9.*Update Proveout"):
        store.events(1, sealed=False)


def test_a_copy_of_the_file_holds_the_same_events(path: Path, tmp_path: Path) -> None:
    store = _with_three_events(path)
    store.close()
    copy = shutil.copy(path, tmp_path / "copy.db")
    assert SqliteStore(Path(copy)).events(1) == store.events(1)


def test_processes_that_open_a_new_store_at_once_all_succeed(path: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from datetime import datetime, UTC; "
        "from proveout.cases.events import Note, Opened; from proveout.cases.sqlite_store import SqliteStore; "
        "store = SqliteStore(Path(sys.argv[1])); store.open_case([Opened()], datetime.now(UTC))"
    )
    started = [subprocess.Popen([sys.executable, "-c", code, str(path)]) for _ in range(3)]
    assert [process.wait() for process in started] == [0, 0, 0]
    assert SqliteStore(path).cases() == (1, 2, 3)
