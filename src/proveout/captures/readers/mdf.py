"""ASAM MDF 4, read by asammdf: groups of channels, each group with its own time."""

from __future__ import annotations

import contextlib
import io
import logging
import warnings
from collections.abc import Iterator
from typing import Any

import numpy as np
from asammdf.blocks.mdf_v4 import MDF4
from numpy.typing import NDArray

from proveout.captures.capture import Channel, Clock
from proveout.captures.readers.clocks import Timing, timing
from proveout.captures.readers.columns import unique
from proveout.captures.readers.mdf_blocks import look_over
from proveout.captures.readers.narrowing import narrow
from proveout.captures.readers.overrules import Overrules
from proveout.captures.readers.recording import Recording
from proveout.captures.readers.source import Source
from proveout.errors import InputError

__all__ = ["decode"]

_MASTER, _VIRTUAL_MASTER = 2, 3
_TIME = 1
_BY_ITSELF: dict[str, Any] = {"__internal__": True}  # what the wrapper hands on, which _File stands in for

# What it would print about a damaged file is said by this reader in one sentence.
logging.getLogger("asammdf").setLevel(logging.CRITICAL + 1)


class _File(MDF4):
    """A file that goes quietly when it could not be opened: the library's own farewell fails on what is missing."""

    def __del__(self) -> None:
        with contextlib.suppress(Exception):
            super().__del__()


def decode(source: Source, overrules: Overrules) -> Recording:
    """Read all channels of real numbers.

    Raises
    ------
    InputError
        Not version 4, damaged, or without channels of numbers over time.
    """
    version = source.head[8:16].decode("latin-1").strip(" \x00")
    if not version.startswith("4"):
        raise InputError(f"the MDF file is of version {version[:8]!r}; save it as version 4")
    look_over(source.data)
    try:
        with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
            warnings.simplefilter("ignore")
            with contextlib.closing(_File(io.BytesIO(source.data), original_name=None, **_BY_ITSELF)) as file:
                return _recording(file, overrules)
    except (InputError, MemoryError):
        raise
    except Exception as error:  # a damaged file makes the library fail in as many ways as there are
        told = (str(error).splitlines() or [""])[0][:200] or type(error).__name__
        raise InputError(f"the MDF file is damaged: {told}; copy it again") from error


def _recording(file: Any, overrules: Overrules) -> Recording:
    channels, notes = list[Channel](), list[str]()
    for number, group in enumerate(file.groups):
        if not group.channel_group.cycles_nr:
            notes.append(f"group {number + 1} has no record")
            continue
        made, told = _group(file, number, overrules)
        channels += made
        notes += told
    if not channels:
        raise InputError("the MDF file has no channel of numbers over time: " + ("; ".join(notes) or "it has no group"))
    names = unique([channel.name for channel in channels])
    renamed = [
        Channel(name, channel.unit, channel.samples, channel.clock)
        for name, channel in zip(names, channels, strict=True)
    ]
    return Recording(renamed, (), tuple(dict.fromkeys(notes)), {"recorded": file.header.start_time.isoformat()})


def _group(file: Any, number: int, overrules: Overrules) -> tuple[list[Channel], list[str]]:
    """Return the channels of one group and what is odd about it."""
    masters = [c for c in file.groups[number].channels if c.channel_type in (_MASTER, _VIRTUAL_MASTER)]
    over = next((c for c in masters if getattr(c, "sync_type", _TIME) != _TIME), None)
    if over is not None:
        return [], [f"group {number + 1} is recorded over '{over.name}', which is no time, and is left out"]
    common: Timing | None = None
    channels, notes = list[Channel](), list[str]()
    for name, unit, samples, stamps in _signals(file, number):
        if samples.ndim != 1 or samples.dtype.kind not in "biuf" or samples.dtype.names:
            notes.append(f"channel '{name}' holds no plain numbers and is left out")
            continue
        if common is None:
            common = _timing(stamps, samples.size, overrules)
            notes += common.notes
        kept = samples if common.rows is None else samples[common.rows]
        channels.append(Channel(name, unit, narrow(kept), common.clock))
    return channels, notes


def _timing(stamps: NDArray[Any], count: int, overrules: Overrules) -> Timing:
    if stamps.size != count:
        raise InputError(f"the MDF file is damaged: {stamps.size} time stamps stand beside {count} samples")
    if overrules.rate is not None:
        return Timing(Clock(rate=overrules.rate, holds=bool(overrules.holds)))
    return timing(np.asarray(stamps, dtype=np.float64), holds=bool(overrules.holds))


def _signals(file: Any, number: int) -> Iterator[tuple[str, str, NDArray[Any], NDArray[Any]]]:
    """Yield name, unit, samples (missing where invalid) and stamps of the channels of a group, the time left out."""
    for index, channel in enumerate(file.groups[number].channels):
        if channel.channel_type in (_MASTER, _VIRTUAL_MASTER):
            continue
        signal = file.get(group=number, index=index, ignore_invalidation_bits=True)
        samples = np.asarray(signal.samples)
        invalid = getattr(signal, "invalidation_bits", None)
        if invalid is not None and samples.dtype.kind in "biuf" and np.any(invalid):
            samples = samples.astype(np.float64)
            samples[np.asarray(invalid, dtype=bool)] = np.nan
        yield signal.name, signal.unit or "", samples, np.asarray(signal.timestamps)
