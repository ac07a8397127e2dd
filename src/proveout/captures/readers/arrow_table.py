"""A table of Apache Arrow as columns: what Parquet and Arrow files have in common."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray
from pyarrow import types

from proveout.captures.readers.column_units import split_name, time_scale
from proveout.captures.readers.columns import Column, Table, channels_of, is_time_name
from proveout.captures.readers.csv.preamble import interval_in
from proveout.captures.readers.narrowing import narrow, stamp_rounding
from proveout.captures.readers.overrules import Overrules
from proveout.captures.readers.recording import Recording
from proveout.errors import InputError

__all__ = ["is_number", "is_stamp", "recording_of", "wanted"]

_PER_SECOND: Mapping[str, float] = {"s": 1.0, "ms": 1e3, "us": 1e6, "ns": 1e9}
_LIBRARY_KEYS = ("pandas", "ARROW:", "org.apache")


def is_number(kind: pa.DataType) -> bool:
    """Tell whether a column of this type can be a channel."""
    return bool(types.is_integer(kind) or types.is_floating(kind) or types.is_boolean(kind) or types.is_decimal(kind))


def is_stamp(kind: pa.DataType) -> bool:
    """Tell whether a column of this type is a time by its type."""
    return bool(types.is_timestamp(kind) or types.is_duration(kind) or types.is_time(kind))


def wanted(schema: pa.Schema) -> list[int]:
    """Return the places of the columns that hold numbers or times."""
    return [k for k, field in enumerate(schema) if is_number(field.type) or is_stamp(field.type)]


def recording_of(table: pa.Table, schema: pa.Schema, overrules: Overrules) -> Recording:
    """Return the recording in a table that was read from a file with this schema.

    Raises
    ------
    InputError
        The table is inconsistent, or the time column that was named is not there.
    """
    try:
        table.validate(full=True)
    except pa.ArrowInvalid as error:
        raise InputError(f"the file is damaged: {error}; copy it again") from error
    left_out = [field.name for field in schema if not (is_number(field.type) or is_stamp(field.type))]
    details = _details(schema)
    chosen = _time_column(table.schema, overrules)
    columns, time = [], None
    for field, data in zip(table.schema, table.columns, strict=True):
        if field.name == chosen:
            time = _stamps(field, data)
        elif is_number(field.type):
            columns.append(_column(field, data))
    known = time is not None and time.unit == "s"
    recording = channels_of(Table(columns, time, known, interval_in(details)), overrules)
    names = ", ".join(f"'{name}'" for name in left_out)
    note = f"columns that hold no numbers are left out: {names}" if left_out else ""
    return Recording(recording.channels, recording.guesses, recording.notes, details).noting(note)


def _details(schema: pa.Schema) -> dict[str, str]:
    pairs = ((key.decode("utf-8", "replace"), value.decode("utf-8", "replace")) for key, value in _items(schema))
    return {key: value for key, value in pairs if not key.startswith(_LIBRARY_KEYS)}


def _items(holder: pa.Schema | pa.Field) -> list[tuple[bytes, bytes]]:
    return list((holder.metadata or {}).items())


def _time_column(schema: pa.Schema, overrules: Overrules) -> str | None:
    if overrules.time_column == "none":
        return None
    if overrules.time_column is not None:
        if overrules.time_column not in schema.names:
            told = ", ".join(schema.names)
            raise InputError(f"there is no column '{overrules.time_column}' to take the time from; there are {told}")
        return overrules.time_column
    by_type = [field.name for field in schema if is_stamp(field.type)]
    by_name = [field.name for field in schema if is_number(field.type) and is_time_name(split_name(field.name)[0])]
    by_unit = [field.name for field in schema if is_number(field.type) and time_scale(_heading(field)[1])]
    return next(iter((*by_type, *by_name, *by_unit)), None)


def _heading(field: pa.Field) -> tuple[str, str]:
    """Return name and unit, the unit from the column's own remarks before its name."""
    name, unit = split_name(field.name)
    said = [value for key, value in _items(field) if key.lower() in (b"unit", b"units")]
    return name, said[0].decode("utf-8", "replace") if said else unit


def _column(field: pa.Field, data: pa.ChunkedArray) -> Column:
    name, unit = _heading(field)
    blank = np.asarray(data.is_null().to_numpy(), dtype=bool) if data.null_count else None
    return Column(name, unit, narrow(_numbers(data)), blank)


def _numbers(data: pa.ChunkedArray) -> NDArray[np.generic]:
    if types.is_decimal(data.type) or (types.is_integer(data.type) and data.null_count):
        data = data.cast(pa.float64(), safe=False)
    if types.is_boolean(data.type):
        data = data.cast(pa.uint8())
        data = data.cast(pa.float32()) if data.null_count else data
    values: NDArray[np.generic] = data.to_numpy()
    return values


def _stamps(field: pa.Field, data: pa.ChunkedArray) -> Column:
    """Return stamps; those with a type of time in seconds since the first, or since midnight or zero."""
    if not is_stamp(field.type):
        values = _numbers(data)
        return Column(*_heading(field), values.astype(np.float64), rounding=stamp_rounding(values))
    per_second = _PER_SECOND[field.type.unit]
    ticks = data.cast(pa.int32() if types.is_time32(field.type) else pa.int64())
    first = next((value.as_py() for chunk in ticks.chunks for value in chunk[:1]), 0) or 0
    whole = ticks.cast(pa.int64()).fill_null(0).to_numpy() - (first if types.is_timestamp(field.type) else 0)
    seconds = whole.astype(np.float64) / per_second
    if data.null_count:
        seconds[np.asarray(data.is_null().to_numpy(), dtype=bool)] = np.nan
    return Column(field.name, "s", seconds, rounding=1 / per_second)
