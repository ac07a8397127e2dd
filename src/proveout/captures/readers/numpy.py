"""NumPy: one array (.npy) or several (.npz). NumPy Enhancement Proposal 1; arrays of objects are never loaded."""

from __future__ import annotations

import io
import re
import tokenize
import zipfile
import zlib
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.captures.capture import Guess
from proveout.captures.readers.column_units import split_name
from proveout.captures.readers.columns import Column, Table, channels_of, is_time_name
from proveout.captures.readers.narrowing import narrow, stamp_rounding
from proveout.captures.readers.overrules import Overrules
from proveout.captures.readers.recording import Recording
from proveout.captures.readers.source import Source
from proveout.captures.readers.unpacking import Bounds, check_declared
from proveout.errors import InputError

__all__ = ["decode"]

Array = NDArray[Any]

_MAGIC = b"\x93NUMPY"
_RATE = re.compile(r"^(fs|rate|sample_?rate|sampling_?rate|samplerate)$", re.IGNORECASE)
_STEP = re.compile(r"^(dt|interval|sample_?interval|sampling_?interval|step)$", re.IGNORECASE)
_DAMAGED = (
    tokenize.TokenError,
    ValueError,
    EOFError,
    OSError,
    KeyError,
    SyntaxError,
    TypeError,
    MemoryError,
    OverflowError,
    RecursionError,
)


def decode(source: Source, overrules: Overrules) -> Recording:
    """Read an array or an archive of arrays.

    In an archive, `time` or `t` are times, `fs` or `rate` a rate, `dt` or `interval` a step; every other array of one
    dimension is a channel. In a single array of two dimensions the longer side is time.

    Raises
    ------
    InputError
        Damaged, holds objects, has more than two dimensions, or arrays of unlike length.
    """
    if bytes(source.data[:6]) == _MAGIC:
        return _single(_array(source.data, "the array"), overrules)
    return _archive(_members(source), overrules)


def _array(data: memoryview, what: str) -> Array:
    """Return the array in a .npy file without a copy; nothing is reserved that the file does not hold."""
    file = io.BytesIO(data[: 1 << 17])
    try:
        version = np.lib.format.read_magic(file)
        head = np.lib.format.read_array_header_1_0 if version == (1, 0) else np.lib.format.read_array_header_2_0
        if version not in ((1, 0), (2, 0), (3, 0)):
            raise ValueError(f"version {version} is not known")
        shape, fortran, kind = head(file)
        count = int(np.prod(shape, dtype=object)) if shape else 1
        if kind.hasobject or not kind.itemsize:
            raise InputError(f"{what} holds Python objects, which can carry a program: save plain numbers")
        available = (data.nbytes - file.tell()) // kind.itemsize
        if count > available:
            raise InputError(f"{what} is cut short: it tells of {count} values and holds {available}; copy it again")
        flat = np.frombuffer(data, dtype=kind, count=count, offset=file.tell())
        return flat.reshape(shape, order="F" if fortran else "C")
    except _DAMAGED as error:
        raise InputError(f"{what} is damaged: {error}; copy the file again") from error


def _members(source: Source) -> dict[str, Array]:
    """Return the arrays of an archive by name."""
    try:
        with zipfile.ZipFile(io.BytesIO(source.data)) as archive:
            entries = [entry for entry in archive.infolist() if entry.filename.endswith(".npy")]
            check_declared(sum(entry.file_size for entry in entries), source.size, Bounds())
            return {
                entry.filename.removesuffix(".npy"): _array(
                    memoryview(_unpacked(archive, entry)), f"array '{entry.filename}'"
                )
                for entry in entries
            }
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, *_DAMAGED) as error:
        raise InputError(f"the archive of arrays is damaged: {error}; copy the file again") from error


def _unpacked(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    with archive.open(entry) as file:
        return file.read(entry.file_size)


def _single(array: Array, overrules: Overrules) -> Recording:
    if array.dtype.names:
        if array.ndim != 1:
            raise InputError(f"the array of records has {array.ndim} dimensions; save it with one")
        return _named({name: array[name] for name in array.dtype.names}, overrules)
    if array.ndim > 2 or array.ndim == 0:
        raise InputError(f"the array has {array.ndim} dimensions; a recording has 1, or 2 with channels side by side")
    if array.ndim == 1:
        return _tracks([array], None, overrules)
    rows = array.shape[0] < array.shape[1]
    tracks = list(array if rows else array.T)
    why = f"its shape is {array.shape}, and the longer side is taken for time"
    guess = Guess("channels", f"{len(tracks)}, one a {'row' if rows else 'column'}", why)
    return _tracks(tracks, guess, overrules)


def _tracks(tracks: list[Array], guess: Guess | None, overrules: Overrules) -> Recording:
    """Return unnamed tracks; the first is the time when it rises all along and others stand beside it."""
    columns = [_column(f"channel {k}", track) for k, track in enumerate(tracks, start=1)]
    time = None
    guesses = [] if guess is None else [guess]
    if len(columns) > 1 and overrules.time_column != "none" and _rises(columns[0]):
        time, *columns = columns
        why = "the first track rises all along and the others do not"
        guesses.append(Guess("time", "the first track", why, "time-column"))
        columns = [Column(f"channel {k}", "", column.values) for k, column in enumerate(columns, start=1)]
    recording = channels_of(Table(columns, time), overrules)
    return Recording(recording.channels, (*guesses, *recording.guesses), recording.notes)


def _named(arrays: Mapping[str, Array], overrules: Overrules) -> Recording:
    columns, time, notes = [], None, []
    wanted = overrules.time_column
    for name, array in arrays.items():
        if array.ndim != 1 or array.dtype.kind not in "biuf":
            notes.append(f"array '{name}' is left out: it has {array.ndim} dimensions of type {array.dtype}")
            continue
        is_time = name == wanted if wanted is not None else time is None and is_time_name(split_name(name)[0])
        if is_time:
            time = _column(name, array)
        else:
            columns.append(_column(name, array))
    return channels_of(Table(columns, time), overrules).noting(*notes)


def _archive(arrays: Mapping[str, Array], overrules: Overrules) -> Recording:
    numbers = {name: a for name, a in arrays.items() if a.size == 1 and a.dtype.kind in "iuf"}
    rows = {
        f"{name} {k + 1}" if array.ndim == 2 else name: track
        for name, array in arrays.items()
        if array.size > 1
        for k, track in enumerate(_side_by_side(array))
    }
    lengths = {name: array.shape[0] for name, array in rows.items() if array.ndim == 1}
    if len(set(lengths.values())) > 1:
        told = ", ".join(f"'{name}' {length}" for name, length in lengths.items())
        raise InputError(f"the arrays have unlike lengths: {told}; save channels of one clock together")
    rate = _rate(numbers)
    if rate is not None and overrules.rate is None and not any(is_time_name(name) for name in rows):
        columns = [
            _column(name, array) for name, array in rows.items() if array.ndim == 1 and array.dtype.kind in "biuf"
        ]
        return channels_of(Table(columns, interval=(1 / rate[0], rate[1])), overrules)
    return _named(rows, overrules)


def _side_by_side(array: Array) -> list[Array]:
    if array.ndim != 2:
        return [array]
    return list(array if array.shape[0] < array.shape[1] else array.T)


def _rate(numbers: Mapping[str, Array]) -> tuple[float, str] | None:
    for name, array in numbers.items():
        value = float(array.reshape(-1)[0].astype(float))
        if not (np.isfinite(value) and value > 0):
            continue
        if _RATE.match(name):
            return value, f"'{name}' in the file is {value:g}, taken as samples per second"
        if _STEP.match(name):
            return 1 / value, f"'{name}' in the file is {value:g}, taken as seconds per sample"
    return None


def _column(name: str, array: Array) -> Column:
    heading, unit = split_name(name)
    if array.dtype.kind not in "biuf":
        raise InputError(f"the array '{name}' holds {array.dtype}, not real numbers; save floating point or integers")
    return Column(heading, unit, narrow(array), rounding=stamp_rounding(array))


def _rises(column: Column) -> bool:
    return column.values.size >= 3 and bool(np.all(np.diff(column.values) > 0))
