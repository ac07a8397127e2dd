"""Reading a file: what it is, by its content, and what it holds, as a capture."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from proveout.captures.capture import Capture, Origin
from proveout.captures.readers._reader import Reader
from proveout.captures.readers.finish import finish
from proveout.captures.readers.gzip import unpack
from proveout.captures.readers.overrules import Overrules
from proveout.captures.readers.signatures import foreign, is_gzip
from proveout.captures.readers.source import Source, open_source
from proveout.errors import InputError

__all__ = ["read_with"]


def read_with(
    readers: Sequence[Reader], given: Path | str | bytes, overrules: Overrules | None, name: str | None
) -> Capture:
    """Read a file with the first of the readers that knows it.

    Raises
    ------
    InputError
        See `proveout.captures.readers.read`.
    """
    source = open_source(given, name)
    with ThreadPoolExecutor(1) as threads:
        fingerprint = threads.submit(source.sha256)
        inner, note = _unpacked(source)
        reader = _chosen(readers, inner)
        overrules = overrules or Overrules()
        try:
            decoded = reader.decode(inner, overrules)
        except MemoryError as error:
            raise InputError(f"'{source.name}' does not fit into memory; record or export a shorter stretch") from error
        recording = finish(decoded.noting(note), overrules)
        origin = Origin(source.name, reader.name, source.size, fingerprint.result())
    return Capture(
        tuple(recording.channels), origin, tuple(recording.guesses), tuple(recording.notes), dict(recording.details)
    )


def _unpacked(source: Source) -> tuple[Source, str]:
    if not is_gzip(source.head):
        return source, ""
    inner, wrong = unpack(source)
    if is_gzip(inner.head):
        raise InputError(f"'{source.name}' is packed with gzip twice; unpack it once")
    return inner, f"the gzip file around the recording: {wrong}" if wrong else ""


def _chosen(readers: Sequence[Reader], source: Source) -> Reader:
    head = source.head
    for reader in readers:
        if reader.begins(head):
            return reader
    what = foreign(head)
    if what:
        raise InputError(f"'{source.name}' is {what}; a recording is needed")
    titles = ", ".join(reader.title for reader in readers)
    raise InputError(f"'{source.name}' is none of the formats that are read: {titles}; export it as one of them")
