"""The vehicles' own sheets of a workshop, one file each in one folder, under numbers that are given here.

A name that somebody typed never becomes part of a path. What was typed and does not fit yet is kept beside its sheet.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from proveout.circuits.loading import read_circuit
from proveout.circuits.schema import Circuit
from proveout.errors import InputError, StoreError

__all__ = ["SheetFolder"]

_FILE = re.compile(r"sheet-([1-9][0-9]{0,8})\.yaml")


class SheetFolder:
    """Sheets in a folder, which is made with the first one."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def numbers(self) -> tuple[int, ...]:
        """Return the numbers of all sheets, oldest first."""
        if not self._folder.is_dir():
            return ()
        found = [_FILE.fullmatch(file.name) for file in self._folder.iterdir()]
        return tuple(sorted(int(match[1]) for match in found if match))

    def add(self, text: str) -> int:
        """Keep a new sheet and return its number.

        Raises
        ------
        CircuitError
            The text is no circuit file without mistakes.
        StoreError
            The file cannot be written.
        """
        read_circuit(text, "the sheet")
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise _unwritable(self._folder, error) from error
        number = max(self.numbers(), default=0) + 1
        while True:
            try:
                handle = os.open(self._file(number), os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644)
            except FileExistsError:
                number += 1
                continue
            except OSError as error:
                raise _unwritable(self._folder, error) from error
            os.close(handle)
            self._put(self._file(number), text)
            return number

    def text(self, number: int) -> str:
        """Return the text of a sheet; InputError where there is none of that number."""
        try:
            return self._file(number).read_text(encoding="utf-8")
        except FileNotFoundError as error:
            raise InputError(f"there is no sheet {number}; {self._known()}") from error
        except (OSError, UnicodeDecodeError) as error:
            raise StoreError(f"sheet {number} cannot be read ({error}): restore {self._file(number)}") from error

    def circuit(self, number: int) -> Circuit:
        """Return a sheet as a circuit; raises as `text`, and CircuitError where the file was spoilt."""
        return read_circuit(self.text(number), f"sheet {number}")

    def put(self, number: int, text: str) -> Circuit:
        """Write a sheet anew and return it as a circuit; raises as `add`, and InputError where there is no such one."""
        self.text(number)
        circuit = read_circuit(text, f"sheet {number}")
        self._put(self._file(number), text)
        return circuit

    def open_answers(self, number: int) -> dict[str, str]:
        """Return what was typed for a sheet and does not fit yet, by the keys of its questions."""
        return {key: text for key, text in self._aside(number).get("answers", {}).items() if isinstance(text, str)}

    def open_text(self, number: int) -> str:
        """Return the file's text as it was typed with mistakes that are still open; empty where there are none."""
        return str(self._aside(number).get("text", ""))

    def keep_open(self, number: int, answers: Mapping[str, str], text: str = "") -> None:
        """Keep what does not fit yet, so that nothing typed is lost."""
        self.text(number)
        path = self._file(number).with_suffix(".json")
        if answers or text:
            self._put(path, json.dumps({"answers": dict(answers), "text": text}, ensure_ascii=False, indent=1))
        else:
            with suppress(OSError):
                path.unlink()

    def _aside(self, number: int) -> dict[str, Any]:
        try:
            found = json.loads(self._file(number).with_suffix(".json").read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return found if isinstance(found, dict) else {}

    def _file(self, number: int) -> Path:
        return self._folder / f"sheet-{int(number)}.yaml"

    def _put(self, path: Path, text: str) -> None:
        """Write a file beside its place and move it there: a reader never sees half of it."""
        aside = path.with_name(path.name + ".new")
        try:
            aside.write_text(text, encoding="utf-8")
            aside.replace(path)
        except OSError as error:
            raise _unwritable(path, error) from error

    def _known(self) -> str:
        numbers = self.numbers()
        return f"there are: {', '.join(map(str, numbers))}" if numbers else "make one from a ready circuit"


def _unwritable(path: Path, error: OSError) -> StoreError:
    return StoreError(
        f"{path}: the sheet cannot be kept ({error.strerror}): free some space, or see to its permissions"
    )
