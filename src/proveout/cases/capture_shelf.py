"""The captures of a workshop: files in an archive, and an append-only list that says what was told about each.

The list is one line of JSON for each thing told; for a capture told about twice the last line counts. A name that
somebody typed never becomes part of a path.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from pathlib import Path
from tempfile import mkstemp
from threading import RLock
from typing import IO, Any

from proveout.captures.archive import Archive
from proveout.captures.capture import Capture
from proveout.captures.readers import ChannelOverrule, Overrules
from proveout.errors import InputError, StoreError

__all__ = ["CaptureShelf", "Shelved"]

_PIECE = 1 << 20


@dataclass(frozen=True)
class Shelved:
    """One capture on the shelf.

    Attributes
    ----------
    number : int
    sha256, name : str
        Of the file as it came; the name is only shown.
    at : datetime
        When it came.
    overrules : Overrules
        What was said about how it is to be read.
    roles : mapping of str to str
        What a channel stands for, where it was said.
    case : int or None
        The case that it belongs to.
    """

    number: int
    sha256: str
    name: str
    at: datetime
    overrules: Overrules = field(default_factory=Overrules)
    roles: Mapping[str, str] = field(default_factory=dict)
    case: int | None = None


class CaptureShelf:
    """Captures in a folder, which is made with the first one."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._lock = folder, RLock()
        self._seen: tuple[tuple[int, int] | None, tuple[Shelved, ...]] = (None, ())
        self.archive = Archive(folder)

    def all(self) -> tuple[Shelved, ...]:
        """Return all captures, oldest first.

        Raises
        ------
        StoreError
            The list cannot be read.
        """
        state = self._state()
        if state != self._seen[0]:
            found: dict[int, Shelved] = {}
            for line in self._lines():
                entry = _read(line)
                found[entry.number] = entry
            self._seen = (state, tuple(found[number] for number in sorted(found)))
        return self._seen[1]

    def get(self, number: int) -> Shelved:
        """Return one capture; InputError where there is none of that number."""
        found = next((entry for entry in self.all() if entry.number == number), None)
        if found is None:
            raise InputError(f"there is no capture {number}")
        return found

    def receive(self, stream: IO[bytes]) -> Path:
        """Write a file as it arrives to a place of its own in the folder and return that; raises StoreError."""
        try:
            arriving = self._folder / "arriving"
            arriving.mkdir(parents=True, exist_ok=True)
            handle, name = mkstemp(dir=arriving)
            with os.fdopen(handle, "wb") as file:
                shutil.copyfileobj(stream, file, _PIECE)
        except OSError as error:
            raise StoreError(f"{self._folder}: the file cannot be kept ({error.strerror}); make room") from error
        return Path(name)

    def put(self, given: Path, name: str, at: datetime, case: int | None = None) -> Shelved:
        """Take a received file into the archive and on the list, and return it; the place it was in is emptied.

        Raises
        ------
        InputError
            The file cannot be read: nothing is kept.
        StoreError
            It cannot be kept.
        """
        try:
            capture = self.archive.attach(given, name=name)
        finally:
            with suppress(OSError):
                given.unlink()
        with self._lock:
            number = max((entry.number for entry in self.all()), default=0) + 1
            entry = Shelved(number, capture.origin.sha256, name, at, case=case)
            self._tell(entry)
        return entry

    def say(self, number: int, overrules: Overrules, roles: Mapping[str, str]) -> Shelved:
        """Say how a capture is to be read and what its channels stand for.

        Raises
        ------
        InputError
            There is no such capture, or it cannot be read that way: what was said before stays.
        """
        entry = self.get(number)
        self.archive.open(entry.sha256, overrules)
        changed = replace(entry, overrules=overrules, roles=dict(roles))
        with self._lock:
            self._tell(changed)
        return changed

    def belongs(self, number: int, case: int | None) -> Shelved:
        """Say to which case a capture belongs."""
        changed = replace(self.get(number), case=case)
        with self._lock:
            self._tell(changed)
        return changed

    def open(self, number: int) -> Capture:
        """Return the samples of a capture, read as was said; raises as `Archive.open`."""
        entry = self.get(number)
        return self.archive.open(entry.sha256, entry.overrules)

    @property
    def _list(self) -> Path:
        return self._folder / "shelf.jsonl"

    def _state(self) -> tuple[int, int] | None:
        """Return what tells whether the list has grown: its size and the time of its last change; None without one."""
        try:
            found = self._list.stat()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise StoreError(f"{self._list}: the list of captures cannot be read ({error})") from error
        return found.st_size, found.st_mtime_ns

    def _lines(self) -> list[str]:
        try:
            return self._list.read_text(encoding="utf-8").splitlines()
        except FileNotFoundError:
            return []
        except (OSError, UnicodeDecodeError) as error:
            raise StoreError(f"{self._list}: the list of captures cannot be read ({error})") from error

    def _tell(self, entry: Shelved) -> None:
        told = {**asdict(entry), "at": entry.at.isoformat()}
        try:
            with self._list.open("a", encoding="utf-8") as file:
                file.write(json.dumps(told, ensure_ascii=False) + "\n")
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise StoreError(f"{self._list}: the capture cannot be noted ({error.strerror}); make room") from error


def _read(line: str) -> Shelved:
    try:
        data: dict[str, Any] = json.loads(line)
        said = data.pop("overrules")
        channels = {name: ChannelOverrule(**each) for name, each in said.pop("channels").items()}
        at = datetime.fromisoformat(data.pop("at"))
        return Shelved(at=at, overrules=Overrules(**said, channels=channels), **data)
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise StoreError(f"the list of captures has a damaged line ({error}): '{line[:60]}'; restore it") from error
