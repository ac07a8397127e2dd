"""Apache Parquet, read by pyarrow: columns of numbers, and a time by its type, its name or its unit."""

from __future__ import annotations

import pyarrow as pa
from pyarrow import parquet

from proveout.captures.readers.arrow_table import recording_of, wanted
from proveout.captures.readers.overrules import Overrules
from proveout.captures.readers.recording import Recording
from proveout.captures.readers.source import Source
from proveout.captures.readers.unpacking import Bounds
from proveout.errors import InputError

__all__ = ["decode"]


def decode(source: Source, overrules: Overrules) -> Recording:
    """Read a Parquet file.

    Raises
    ------
    InputError
        Damaged, without columns of numbers, or unpacking to more than a recording can.
    """
    try:
        file = parquet.ParquetFile(pa.BufferReader(pa.py_buffer(source.data)))
        schema = file.schema_arrow
        columns = wanted(schema)
        Bounds().check(file.metadata.num_rows * max(1, len(columns)) * 8, source.size)
        if not columns:
            raise InputError("the Parquet file has no column of numbers; export the recording with its samples")
        table = file.read(columns=[schema[k].name for k in columns], use_threads=True)
        return recording_of(table, schema, overrules)
    except (pa.ArrowException, OSError, ValueError, KeyError, OverflowError) as error:
        raise InputError(f"the Parquet file is damaged: {_first_line(error)}; copy it again") from error


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0][:200]
