"""Where a command works: the store, the case it is about, the compiled circuit of that case."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cached_property, wraps
from pathlib import Path
from typing import Any

import click

from proveout.cases.case_state import CaseState
from proveout.cases.desk import Desk, Recorded
from proveout.cases.events import Event
from proveout.cases.model_cache import ModelCache, meter_of
from proveout.cases.places import cache_folder, store_file
from proveout.cases.sqlite_store import SqliteStore
from proveout.circuits.schema import Circuit
from proveout.cli.options import with_json
from proveout.cli.progress import shown
from proveout.diagnosis import Model
from proveout.instruments import Meter, default_meter

__all__ = ["Workplace", "model_folder", "with_store", "with_workplace"]


class Workplace:
    """The store and the case that a command is about.

    Parameters
    ----------
    store : Path or None
        None for the user's own store.
    case : str or None
        Number of a case or the workshop's own number of the job; None for the current case.
    as_json : bool
    """

    def __init__(self, store: Path | None, case: str | None, *, as_json: bool) -> None:
        self._store = store
        self._case = case
        self.as_json = as_json

    @property
    def store_path(self) -> Path:
        """File of the store."""
        return self._store or store_file()

    @property
    def captures(self) -> Path:
        """The folder in which attached captures are kept, beside the store."""
        return self.store_path.with_name("captures")

    @cached_property
    def desk(self) -> Desk:
        """The desk over the store."""
        return Desk(SqliteStore(self.store_path))

    @cached_property
    def case(self) -> int:
        """The case that the command is about."""
        return self.desk.find(self._case) if self._case else self.desk.current()

    def about(self, case: str | None) -> None:
        """Take a case that was typed as an argument instead of the option."""
        if case is not None:
            self._case = case

    def state(self) -> CaseState:
        """Return the case as it stands."""
        return self.desk.state(self.case)

    def record(self, event: Event) -> Recorded:
        """Store an event of the case."""
        return self.desk.record(self.case, event)

    def model(self, state: CaseState) -> Model:
        """Return the compiled circuit of the case."""
        return self.compiled(state.circuit, meter_of(state))

    def compiled(self, circuit: Circuit, meter: Meter | None = None) -> Model:
        """Return a compiled circuit, with progress shown when it takes long; without a meter for the ordinary one."""
        cache = ModelCache(model_folder())
        with shown(f"Computing {circuit.title}") as progress:
            return cache.model(circuit, meter or default_meter(), progress)


def model_folder() -> Path:
    """Return the folder of compiled circuits."""
    return Path(folder) if (folder := os.environ.get("PROVEOUT_CACHE")) else cache_folder()


def with_store(command: Callable[..., None]) -> Callable[..., None]:
    """Add `--store` and `--json`, and hand the command its workplace first."""

    @wraps(command)
    def run(store: Path | None, as_json: bool, **rest: Any) -> None:
        command(Workplace(store, rest.pop("of_case", None), as_json=as_json), **rest)

    return click.option(
        "--store",
        type=click.Path(dir_okay=False, path_type=Path),
        envvar="PROVEOUT_STORE",
        show_envvar=True,
        help="The case store; default: the user's own.",
    )(with_json(run))


def with_workplace(command: Callable[..., None]) -> Callable[..., None]:
    """Add `--case`, `--store` and `--json`, and hand the command its workplace first."""
    help_case = "Number of the case, or the job's own number; default: the current case."
    return click.option("--case", "of_case", metavar="CASE", help=help_case)(with_store(command))
