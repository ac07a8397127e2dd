"""Readers of recorded signals, chosen by what a file holds and never by its name.

A new format is one module and one line here.
"""

from __future__ import annotations

from pathlib import Path

from proveout.captures.capture import Capture
from proveout.captures.readers._reader import Reader, check
from proveout.captures.readers.overrules import ALL, TIME_UNITS, ChannelOverrule, Overrules
from proveout.captures.readers.reading import read_with
from proveout.captures.readers.signatures import is_arrow, is_mdf, is_numpy, is_parquet, is_text, is_vcd, is_wav

__all__ = ["ALL", "READERS", "TIME_UNITS", "ChannelOverrule", "Overrules", "Reader", "read"]

_HERE = "proveout.captures.readers"

READERS: tuple[Reader, ...] = (
    Reader("wav", "WAV", is_wav, f"{_HERE}.wav:decode"),
    Reader("numpy", "NumPy .npy and .npz", is_numpy, f"{_HERE}.numpy:decode"),
    Reader("mdf", "ASAM MDF 4", is_mdf, f"{_HERE}.mdf:decode"),
    Reader("parquet", "Parquet", is_parquet, f"{_HERE}.parquet:decode"),
    Reader("arrow", "Arrow IPC and Feather", is_arrow, f"{_HERE}.arrow:decode"),
    Reader("vcd", "VCD (value change dump)", is_vcd, f"{_HERE}.vcd:decode"),
    Reader("csv", "CSV", is_text, f"{_HERE}.csv.decoding:decode"),
)
"""The readers in the order in which they are asked; CSV, which any text may be, comes last."""

for _place, _reader in enumerate(READERS):
    check(_reader, READERS[:_place])


def read(given: Path | str | bytes, overrules: Overrules | None = None, *, name: str | None = None) -> Capture:
    """Read a recorded signal.

    Parameters
    ----------
    given : path or bytes
        The file, packed with gzip or not; its name decides nothing.
    overrules : Overrules or None
        What the user says about it; it goes before what the file says, and before every guess.
    name : str or None
        Name to show, where bytes are given.

    Returns
    -------
    Capture
        Samples in SI units; what was guessed and what is odd stands beside them.

    Raises
    ------
    InputError
        The file is empty, not readable, of no known format, damaged so that nothing can be read, or larger than memory;
        or an overrule does not fit the file.
    """
    return read_with(READERS, given, overrules, name)
