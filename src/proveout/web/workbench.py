"""What all pages share: the desk, the compiled circuits, the shop's settings and the page's own key."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from threading import RLock
from typing import Any

from proveout.cases.case_state import CaseState
from proveout.cases.desk import Desk
from proveout.cases.model_cache import ModelCache, meter_of
from proveout.cases.sheet_folder import SheetFolder
from proveout.cases.sqlite_store import SqliteStore
from proveout.cases.twins import listing_twin
from proveout.circuits.schema import Circuit
from proveout.diagnosis import Model
from proveout.errors import StoreError
from proveout.instruments import Meter, default_meter
from proveout.practice import PracticeBook
from proveout.web.background import Background, Job
from proveout.web.captures import Captures
from proveout.web.charts import Charts
from proveout.web.recent import Recent
from proveout.web.schematics import Schematics
from proveout.web.shop_settings import ShopSettings, read_settings, write_settings
from proveout.web.standing import Standing

__all__ = ["Workbench"]


@dataclass(frozen=True)
class _Files:
    """The files of a workbench, all in the folder of its case store."""

    store: Path

    @property
    def settings(self) -> Path:
        return self.store.with_name("shop.json")

    @property
    def key(self) -> Path:
        return self.store.with_name("page.key")

    @property
    def practices(self) -> Path:
        return self.store.with_name("practice.db")

    @property
    def sheets(self) -> Path:
        return self.store.with_name("sheets")

    @property
    def captures(self) -> Path:
        return self.store.with_name("captures")


class Workbench:
    """The cases of one store, as the pages see them.

    Parameters
    ----------
    store : Path
        File of the case store; the shop's settings and the page's key lie beside it.
    cache : Path or None
        Folder of compiled circuits; None keeps none.

    Raises
    ------
    StoreError
        The store or the key cannot be read or made.
    """

    def __init__(self, store: Path, cache: Path | None = None) -> None:
        self._files = _Files(store)
        self.desk = Desk(SqliteStore(store))
        self._models = ModelCache(cache)
        self._compiled: Recent[tuple[str, str], Model] = Recent(8)
        self._compiler = Background()
        self._standing: Recent[int, Standing] = Recent(16)
        self._listed: Recent[int, tuple[int, dict[str, Any]]] = Recent(4096)
        self.schematics = Schematics()
        # One writer at a time, so that a form is judged against the very events that it is added to.
        self.writing = RLock()
        self.background, self.practising = Background(), Background()
        self.charts = Charts(self.background, cache / "charts" if cache is not None else None)

    @cached_property
    def key(self) -> bytes:
        """The secret behind the forms' tokens; it outlives a restart, so that a page left open still works."""
        return _read_key(self._files.key)

    @cached_property
    def practices(self) -> PracticeBook:
        """The practices, in a store of their own beside the cases."""
        return PracticeBook(Desk(SqliteStore(self._files.practices)), self._models.model)

    @cached_property
    def sheets(self) -> SheetFolder:
        """The vehicles' own sheets, in a folder beside the cases."""
        return SheetFolder(self._files.sheets)

    @cached_property
    def captures(self) -> Captures:
        """The captures, in a folder beside the cases."""
        return Captures(self._files.captures)

    def compiled(self, circuit: Circuit, text: str) -> Model:
        """Return a compiled circuit for the ordinary meter."""
        return self._made((text, ""), circuit, default_meter())

    @property
    def settings(self) -> ShopSettings:
        """The shop's settings as they are now."""
        return read_settings(self._files.settings)

    def set_settings(self, settings: ShopSettings) -> None:
        """Keep the shop's settings; StoreError when they cannot be written."""
        write_settings(self._files.settings, settings)

    def case(self, number: int) -> Standing:
        """Return a case as it stands, from memory when nothing was added to it; raises as `Desk.events`."""
        events = self.desk.events(number)
        known = self._standing.get(number)
        if known is not None and known.events[-1].seal == events[-1].seal:
            return known
        state = self.desk.read(number, events)
        found = known.after(events, state) if known else Standing(number, events, state, self.model)
        return self._standing.put(number, found)

    def listing(self) -> list[dict[str, Any]]:
        """Return a line for each case, the newest first; only cases that went on are read again."""
        return [self._line(case, length) for case, length in reversed(list(self.desk.store.lengths().items()))]

    def _line(self, case: int, length: int) -> dict[str, Any]:
        known = self._listed.get(case)
        if known is None or known[0] != length:
            known = self._listed.put(case, (length, listing_twin(case, self.desk.events(case))))
        return known[1]

    def model(self, state: CaseState) -> Model:
        """Return the compiled circuit of a case."""
        return self._made((state.text, state.opened.meter), state.circuit, meter_of(state))

    def compiling(self, state: CaseState) -> Job[Model] | None:
        """Return the job that compiles the circuit of a case, None where it is compiled already."""
        wanted = (state.text, state.opened.meter)
        if self._compiled.get(wanted) is not None:
            return None
        return self._job(wanted, state.circuit, meter_of(state))

    def _made(self, wanted: tuple[str, str], circuit: Circuit, meter: Meter) -> Model:
        return self._compiled.get(wanted) or self._job(wanted, circuit, meter).result

    def _job(self, wanted: tuple[str, str], circuit: Circuit, meter: Meter) -> Job[Model]:
        def work(progress: Callable[[float], None]) -> Model:
            return self._compiled.put(wanted, self._models.model(circuit, meter, progress))

        return self._compiler.job(wanted, work)


def _read_key(path: Path) -> bytes:
    try:
        if not path.is_file():
            _make_key(path)
        key = path.read_bytes()
    except OSError as error:
        raise StoreError(
            f"{path}: the page's key cannot be kept ({error.strerror}): choose a place you may write to with --store"
        ) from error
    if len(key) < 32:
        raise StoreError(f"{path}: the page's key is damaged: remove the file, a new one is made at the next start")
    return key


def _make_key(path: Path) -> None:
    """Make a key that only its owner can read; when another process was faster, its key stays."""
    with suppress(FileExistsError):
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(secrets.token_bytes(32))
