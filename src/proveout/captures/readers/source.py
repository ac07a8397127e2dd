"""The bytes of a file to be read, without a copy in memory where the file lies on a disk."""

from __future__ import annotations

import hashlib
import mmap
from dataclasses import dataclass, field
from pathlib import Path

from proveout.errors import InputError

__all__ = ["HEAD", "Source", "open_source"]

HEAD = 65536
"""How much of a file decides what it is [byte]."""

_SLICE = 1 << 22


@dataclass(frozen=True)
class Source:
    """A file's bytes.

    Attributes
    ----------
    name : str
        Name without its folder, for the user only; nothing is concluded from it.
    data : bytes-like
        All bytes; a read-only memory map where they lie on a disk.
    path : Path or None
        Where they lie, None when they were given as bytes.
    """

    name: str
    data: memoryview
    path: Path | None = None
    keep: object = field(default=None, repr=False, compare=False)

    @property
    def size(self) -> int:
        """Count of bytes."""
        return self.data.nbytes

    @property
    def head(self) -> bytes:
        """The first bytes, at most `HEAD`."""
        return bytes(self.data[:HEAD])

    def sha256(self) -> str:
        """Return the SHA-256 (FIPS 180-4) of all bytes."""
        digest = hashlib.sha256()
        for start in range(0, self.size, _SLICE):
            digest.update(self.data[start : start + _SLICE])
        return digest.hexdigest()


def open_source(given: Path | str | bytes | bytearray | memoryview, name: str | None = None) -> Source:
    """Open a file or take bytes as they are.

    Raises
    ------
    InputError
        The file cannot be read, is a folder, or holds nothing.
    """
    if isinstance(given, bytes | bytearray | memoryview):
        source = Source(name or "bytes", memoryview(given).cast("B"))
    else:
        source = _mapped(Path(given), name)
    if not source.size:
        raise InputError(f"'{source.name}' has 0 bytes: nothing was recorded or the copy failed; copy it again")
    return source


def _mapped(path: Path, name: str | None) -> Source:
    try:
        with path.open("rb") as file:
            if not path.stat().st_size:
                return Source(name or path.name, memoryview(b""), path)
            view = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"'{path}' cannot be read: {reason}; give the file of a recording") from error
    return Source(name or path.name, memoryview(view), path, keep=view)
