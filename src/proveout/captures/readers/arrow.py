"""Apache Arrow IPC files and streams, Feather included, read by pyarrow from the bytes as they lie."""

from __future__ import annotations

import pyarrow as pa
from pyarrow import ipc

from proveout.captures.readers.arrow_table import recording_of, wanted
from proveout.captures.readers.overrules import Overrules
from proveout.captures.readers.recording import Recording
from proveout.captures.readers.source import Source
from proveout.captures.readers.unpacking import Bounds
from proveout.errors import InputError

__all__ = ["decode"]


def decode(source: Source, overrules: Overrules) -> Recording:
    """Read an Arrow file or stream.

    Raises
    ------
    InputError
        Damaged, without columns of numbers, or unpacking to more than a recording can.
    """
    try:
        schema, table = _table(source)
        if not table.num_columns:
            raise InputError("the Arrow file has no column of numbers; export the recording with its samples")
        return recording_of(table, schema, overrules)
    except (pa.ArrowException, OSError, ValueError, KeyError, OverflowError) as error:
        told = (str(error).splitlines() or [type(error).__name__])[0][:200]
        raise InputError(f"the Arrow file is damaged: {told}; copy it again") from error


def _table(source: Source) -> tuple[pa.Schema, pa.Table]:
    file = pa.BufferReader(pa.py_buffer(source.data))
    head = source.head[:6]
    if head == b"ARROW1":
        reader = ipc.open_file(file)
        batches = (reader.get_batch(k) for k in range(reader.num_record_batches))
    else:
        reader = ipc.open_stream(file)
        batches = iter(reader)
    columns = wanted(reader.schema)
    kept, total = [], 0
    for batch in batches:
        batch = batch.select(columns)
        batch.validate(full=True)
        total += batch.nbytes
        Bounds().check(total, source.size)
        kept.append(batch)
    narrow_schema = pa.schema([reader.schema.field(k) for k in columns])
    return reader.schema, pa.Table.from_batches(kept, schema=narrow_schema)
