"""Reads and writes the files that commands are given; a file that cannot be used is an error in plain words."""

from __future__ import annotations

from pathlib import Path

from proveout.errors import InputError

__all__ = ["read_text", "write_bytes", "write_text"]


def read_text(path: Path) -> str:
    """Return the text of a UTF-8 file; InputError when it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise InputError(f"{path}: cannot be read ({reason}); check the name and the permissions") from error


def write_text(path: Path, text: str) -> Path:
    """Write a UTF-8 file, its folder included, and return its path; InputError when it cannot be written."""
    return write_bytes(path, text.encode())


def write_bytes(path: Path, content: bytes) -> Path:
    """Write a file, its folder included, and return its path; InputError when it cannot be written."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    except OSError as error:
        raise InputError(
            f"{path}: cannot be written ({error.strerror}); choose another place with -o, or free some space"
        ) from error
    return path
