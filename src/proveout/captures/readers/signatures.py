"""How files begin: the formats that are read, and others that are often taken for one of them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

__all__ = [
    "foreign",
    "is_arrow",
    "is_gzip",
    "is_mdf",
    "is_numpy",
    "is_parquet",
    "is_text",
    "is_vcd",
    "is_wav",
]

_FOREIGN: Mapping[bytes, str] = MappingProxyType(
    {
        b"\x89PNG": "a PNG picture",
        b"\xff\xd8\xff": "a JPEG picture",
        b"GIF8": "a GIF picture",
        b"BM": "a bitmap picture",
        b"%PDF": "a PDF document",
        b"PK\x03\x04": "a ZIP archive (a spreadsheet is one): save the table as CSV, or unpack the archive",
        b"PK\x05\x06": "an empty ZIP archive",
        b"\xd0\xcf\x11\xe0": "an old spreadsheet or document: save the table as CSV",
        b"BZh": "packed with bzip2: unpack it",
        b"\xfd7zXZ": "packed with xz: unpack it",
        b"7z\xbc\xaf": "a 7z archive: unpack it",
        b"Rar!": "a RAR archive: unpack it",
        b"\x28\xb5\x2f\xfd": "packed with Zstandard: unpack it",
        b"FEA1": "a Feather file of version 1: save it as Feather version 2, which is Arrow IPC",
        b"\x89HDF": "an HDF5 file: export the recording as CSV, Parquet or MDF 4",
        b"SQLite format 3": "a database",
        b"\x7fELF": "a program",
        b"MZ": "a program",
        b"ID3": "compressed sound: export linear samples as WAV",
        b"OggS": "compressed sound: export linear samples as WAV",
        b"fLaC": "compressed sound: export linear samples as WAV",
    }
)
_CONTROL = re.compile(rb"[\x00-\x08\x0e-\x1a\x1c-\x1f]")
_VCD = re.compile(rb"^\s*\$(date|version|timescale|comment|scope|var|enddefinitions)\b")


def is_gzip(head: bytes) -> bool:
    """RFC 1952, 2.3.1: two identifying bytes and deflate as method."""
    return head[:3] == b"\x1f\x8b\x08"


def is_wav(head: bytes) -> bool:
    """RIFF/WAVE, its big-endian and its 64-bit form."""
    return head[:4] in (b"RIFF", b"RIFX", b"RF64") and head[8:12] == b"WAVE"


def is_mdf(head: bytes) -> bool:
    """ASAM MDF: identification block, also of a measurement that was not closed."""
    return head[:8] in (b"MDF     ", b"UnFinMF ")


def is_parquet(head: bytes) -> bool:
    """Apache Parquet, not encrypted."""
    return head[:4] == b"PAR1"


def is_arrow(head: bytes) -> bool:
    """Apache Arrow IPC, file or stream."""
    return head[:6] == b"ARROW1" or head[:4] == b"\xff\xff\xff\xff"


def is_numpy(head: bytes) -> bool:
    """A NumPy array, or an archive whose first member is one."""
    if head[:6] == b"\x93NUMPY":
        return True
    name = int.from_bytes(head[26:28], "little")
    return head[:4] == b"PK\x03\x04" and head[30 : 30 + name].endswith(b".npy")


def is_vcd(head: bytes) -> bool:
    """Value change dump, IEEE 1364-2005 clause 18: a keyword comes first."""
    return bool(_VCD.match(head.removeprefix(b"\xef\xbb\xbf")))


def is_text(head: bytes) -> bool:
    """Text in UTF-16 (by its mark or its zeros) or without control characters."""
    if not head:
        return False
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return True
    if _CONTROL.search(head) is None:
        return True
    even, odd = head[0:4000:2], head[1:4000:2]
    wide = min(even.count(0), odd.count(0)) < 0.1 * len(odd) and max(even.count(0), odd.count(0)) > 0.6 * len(odd)
    padded = _CONTROL.search(head.rstrip(b"\x00")) is None and bool(head.rstrip(b"\x00"))
    return wide or padded


def foreign(head: bytes) -> str:
    """Return what a file is that cannot be read here, empty when that is not known either."""
    return next((what for sign, what in _FOREIGN.items() if head.startswith(sign)), "")
