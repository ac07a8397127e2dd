"""gzip: a container around a file of any other format."""

from __future__ import annotations

from dataclasses import replace

from proveout.captures.readers.source import Source
from proveout.captures.readers.unpacking import gunzip

__all__ = ["unpack"]


def unpack(source: Source) -> tuple[Source, str]:
    """Return the file inside, and what is wrong with the container."""
    data, note = gunzip(source.data)
    return replace(source, data=memoryview(data), path=None, keep=None), note
