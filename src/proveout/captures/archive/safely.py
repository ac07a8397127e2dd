"""Files that appear whole or not at all, and a full disk said in one sentence."""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from proveout.errors import StoreError

__all__ = ["new_file", "new_folder", "said_clearly"]

_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


@contextmanager
def said_clearly(place: Path) -> Iterator[None]:
    """Turn what the operating system says into a StoreError; nothing that was there is changed."""
    try:
        yield
    except OSError as error:
        if error.errno in _NO_ROOM:
            raise StoreError(
                f"the disk of '{place}' is full: the capture was not kept, what was kept before is as it was; make "
                "room and attach it again"
            ) from error
        raise StoreError(f"'{place}' cannot be written: {error.strerror or error}; nothing was kept") from error


def new_file(path: Path, write: Callable[[Path], None]) -> None:
    """Write a file beside its place and move it there; one that is there already stays."""
    path.parent.mkdir(parents=True, exist_ok=True)
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    os.close(descriptor)
    partial = Path(name)
    try:
        write(partial)
        _to_disk(partial)
        partial.chmod(0o444)
        partial.replace(path)
        _to_disk(path.parent)
    finally:
        partial.unlink(missing_ok=True)


def new_folder(path: Path, fill: Callable[[Path], None]) -> None:
    """Fill a folder beside its place and move it there; one that is there already stays."""
    path.parent.mkdir(parents=True, exist_ok=True)
    partial = Path(tempfile.mkdtemp(dir=path.parent, prefix=".part-"))
    try:
        fill(partial)
        for file in partial.iterdir():
            _to_disk(file)
        try:
            partial.rename(path)
        except OSError:
            if not path.is_dir():
                raise
        _to_disk(path.parent)
    finally:
        shutil.rmtree(partial, ignore_errors=True)


def _to_disk(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
