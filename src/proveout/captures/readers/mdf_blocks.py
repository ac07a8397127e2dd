"""The blocks of an ASAM MDF 4 file, looked over before a library reads them.

A damaged file may link in a circle or tell of more data than it holds. ASAM MDF 4: a block is an identifier, its
length, its count of links, the links and its data (layout of the blocks from memory).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, field

from proveout.captures.readers.unpacking import Bounds
from proveout.errors import InputError

__all__ = ["look_over"]

_HEAD = struct.Struct("<4s4xQQ")
_FIRST = 64
_MOST_BLOCKS = 2_000_000
_MOST_PER_BYTE = 1032  # deflate's own limit
_UNFINISHED = b"UnFinMF "


@dataclass(frozen=True)
class _Block:
    kind: str
    place: int
    links: tuple[int, ...]
    data: memoryview


@dataclass
class _Walk:
    """A file on its way to be looked over."""

    file: memoryview
    seen: set[int] = field(default_factory=set)
    samples: int = 0

    def block(self, place: int, *kinds: str) -> _Block:
        """Return the block at a place, checked to lie inside the file and to be of a kind that may stand there."""
        size = self.file.nbytes
        if place < _FIRST or place + _HEAD.size > size:
            raise _damaged(f"a link leads to byte {place} of {size}")
        kind, length, count = _HEAD.unpack_from(self.file, place)
        end = place + _HEAD.size + 8 * count
        if kind[:2] != b"##" or (kinds and kind[2:].decode("latin-1") not in kinds):
            raise _damaged(f"at byte {place} there is no block of kind {' or '.join(kinds) or 'any'}")
        if place + length > size or count > length // 8:
            raise _damaged(f"the block at byte {place} tells of {length} bytes, more than the file holds")
        links = struct.unpack_from(f"<{count}Q", self.file, place + _HEAD.size)
        return _Block(kind[2:].decode("latin-1"), place, links, self.file[end : place + length])

    def once(self, place: int, *kinds: str) -> _Block:
        """Return a block that only one chain may lead to."""
        if place in self.seen:
            raise _damaged(f"the links lead in a circle at byte {place}")
        self.seen.add(place)
        if len(self.seen) > _MOST_BLOCKS:
            raise _damaged(f"it has more than {_MOST_BLOCKS} blocks")
        return self.block(place, *kinds)


def look_over(file: memoryview, bounds: Bounds | None = None) -> None:
    """Check the chains of groups, channels and data of a file.

    Raises
    ------
    InputError
        A link leads out of the file or in a circle, a group tells of more records than there is data, or the data
        unpack to more than the bounds allow.
    """
    bounds = bounds or Bounds()
    finished = bytes(file[:8]) != _UNFINISHED
    walk = _Walk(file)
    try:
        place = walk.once(_FIRST, "HD").links[0]
        total = 0
        while place:
            group = walk.once(place, "DG")
            held = _held(walk, group.links[2])
            total += held
            bounds.check(total, file.nbytes)
            needed = _needed(walk, group, bounds)
            if finished and needed > held:
                raise _damaged(f"a group tells of {needed} bytes of records and {held} are there")
            place = group.links[0]
    except (struct.error, IndexError, OverflowError) as error:
        raise _damaged("a block is too short for its kind") from error


def _needed(walk: _Walk, group: _Block, bounds: Bounds) -> int:
    """Return the bytes of all records of a data group, and check its channels."""
    identifier = group.data[0]
    place, needed = group.links[1], 0
    while place:
        records = walk.once(place, "CG")
        _, cycles, flags = struct.unpack_from("<QQH", records.data)
        data_bytes, invalid_bytes = struct.unpack_from("<II", records.data, 24)
        channels = _channels(walk, records.links[1])
        by_length = bool(flags & 1)
        if not by_length:
            needed += cycles * (identifier + data_bytes + invalid_bytes)
            walk.samples += cycles * max(1, channels)
            if not data_bytes and cycles > bounds.free:
                raise _damaged(f"a group tells of {cycles} records without a byte")
        if 8 * walk.samples > bounds.size:
            raise InputError(f"the file holds more than {bounds.size / 8:.3g} samples; export a shorter stretch")
        place = records.links[0]
    return needed


def _channels(walk: _Walk, place: int) -> int:
    """Count channels along their chain, parts of composed ones included."""
    count, waiting = 0, [place]
    while waiting:
        place = waiting.pop()
        while place:
            channel = walk.once(place, "CN", "CA")
            count += 1
            if channel.kind == "CA":
                waiting += [channel.links[0]]
                break
            waiting += [channel.links[1]]
            place = channel.links[0]
    return count


def _held(walk: _Walk, place: int) -> int:
    """Return the bytes of data that a link leads to, unpacked."""
    total, waiting = 0, [place]
    while waiting:
        place = waiting.pop()
        if not place:
            continue
        block = walk.once(place, "DT", "DV", "SD", "DZ", "DL", "HL", "LD", "DI")
        if block.kind in ("DL", "LD", "HL"):
            waiting += [link for link in block.links if link]
        elif block.kind == "DZ":
            unpacked, packed = struct.unpack_from("<QQ", block.data, 8)
            if packed > block.data.nbytes or unpacked > _MOST_PER_BYTE * packed + 64:
                raise _damaged(f"the packed block at byte {place} tells of {unpacked} bytes from {packed}")
            total += unpacked
        else:
            total += block.data.nbytes
    return total


def _damaged(what: str) -> InputError:
    return InputError(f"the MDF file is damaged or cut short: {what}; copy it again")
