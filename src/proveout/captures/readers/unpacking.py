"""How much a compressed file may grow: a bound on size and on ratio, so that a small file cannot fill the memory."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

from proveout.errors import InputError

__all__ = ["Bounds", "check_declared", "gunzip"]

_STEP = 1 << 20
_MAGIC = b"\x1f\x8b"


@dataclass(frozen=True)
class Bounds:
    """Largest size of what is unpacked [byte], and largest ratio beyond a size where a ratio says nothing yet."""

    size: int = 4 << 30
    ratio: float = 200.0
    free: int = 64 << 20

    def check(self, unpacked: int, packed: int) -> None:
        """Refuse what grows beyond the bounds.

        Raises
        ------
        InputError
        """
        if unpacked > self.size:
            raise InputError(
                f"the file unpacks to more than {self.size / 2**30:.3g} GiB; unpack it yourself and cut it"
            )
        if unpacked > self.free and unpacked > self.ratio * packed:
            raise InputError(
                f"the file unpacks to more than {self.ratio:.0f} times its size of {packed} bytes, which no recording "
                "does: a damaged or a malicious file; unpack it yourself if you trust it"
            )


def check_declared(unpacked: int, packed: int, bounds: Bounds) -> None:
    """Refuse a file by the size that its own directory tells, before anything is unpacked."""
    bounds.check(unpacked, packed)


def gunzip(data: memoryview, bounds: Bounds | None = None) -> tuple[bytearray, str]:
    """Unpack gzip (RFC 1952), all members, and say what is wrong at its end: cut short, damaged, or nothing.

    Raises
    ------
    InputError
        Nothing can be unpacked, or more than the bounds allow.
    """
    bounds = bounds or Bounds()
    unpacked = bytearray()
    place, note = 0, ""
    while place < data.nbytes and not note:
        place, note = _member(data, place, unpacked, bounds)
    if not unpacked:
        raise InputError(f"the gzip file holds nothing that can be read: {note or 'it is empty'}; copy it again")
    return unpacked, note


def _member(data: memoryview, place: int, unpacked: bytearray, bounds: Bounds) -> tuple[int, str]:
    """Unpack one member that begins at a place; return where the next begins and what is wrong."""
    if bytes(data[place : place + 2]) != _MAGIC:
        padding = not any(data[place : place + _STEP])
        return data.nbytes, "" if padding else "what follows the packed data is no gzip and is left out"
    engine = zlib.decompressobj(wbits=31)
    try:
        while not engine.eof:
            packed = engine.unconsumed_tail
            if not packed:
                packed = bytes(data[place : place + _STEP])
                place += len(packed)
            grown = engine.decompress(packed, _STEP)
            if not packed and not grown:
                return place, "it is cut short: what came before the cut is read"
            unpacked += grown
            bounds.check(len(unpacked), data.nbytes)
    except zlib.error as error:
        return data.nbytes, f"it is damaged ({error}): what came before the damage is read"
    return place - len(engine.unused_data), ""
