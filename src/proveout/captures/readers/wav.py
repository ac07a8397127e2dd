"""WAV: sound files, which some recorders write. RIFF/WAVE, read by scipy."""

from __future__ import annotations

import io
import struct
import warnings
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.io import wavfile

from proveout.captures.capture import Channel, Clock, Samples
from proveout.captures.readers.overrules import Overrules
from proveout.captures.readers.recording import Recording
from proveout.captures.readers.source import Source
from proveout.errors import InputError

__all__ = ["decode"]

_FINE = 1 << 24  # integers above this are not exact in single precision


def decode(source: Source, overrules: Overrules) -> Recording:
    """Read a WAV file; integer samples become shares of full scale, -1 to 1.

    Raises
    ------
    InputError
        The file is damaged or in a coding other than linear samples.
    """
    with warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        try:
            rate, data = wavfile.read(io.BytesIO(source.data))
        except (ValueError, struct.error, EOFError, OverflowError, MemoryError, ZeroDivisionError, TypeError) as error:
            raise InputError(f"the WAV file is damaged or not of linear samples: {error}; copy it again") from error
        except (IndexError, KeyError, UnboundLocalError, AttributeError) as error:
            raise InputError("the WAV file is damaged: its parts do not fit together; copy it again") from error
    if not rate > 0 or not data.size:
        raise InputError(f"the WAV file has {data.size} samples at {rate} Hz: nothing was recorded")
    tracks = data[:, np.newaxis] if data.ndim == 1 else data
    scaled, digital = _scaled(tracks)
    clock = Clock(rate=float(overrules.rate or rate))
    channels = [
        Channel(f"channel {k + 1}", "", samples, clock, *(_limits(data.dtype) if digital else (None, None)))
        for k, samples in enumerate(scaled)
    ]
    notes = [_note(str(warning.message)) for warning in said]
    names = frozenset(channel.name for channel in channels) if digital else frozenset()
    return Recording(channels, (), tuple(dict.fromkeys(filter(None, notes))), digital=names)


def _scaled(tracks: NDArray[Any]) -> tuple[list[Samples], bool]:
    """Return one array for each track, and whether they are shares of full scale."""
    kind = tracks.dtype
    if kind.kind == "f":
        precision: type[np.float32] | type[np.float64] = np.float64 if kind.itemsize > 4 else np.float32
        return [track.astype(precision) for track in tracks.T], False
    half, zero = _full_scale(kind)
    return [_share(track, half, zero) for track in tracks.T], True


def _share(track: NDArray[Any], half: float, zero: float) -> Samples:
    if half > _FINE:
        return (track.astype(np.float64) - zero) / half
    return (track.astype(np.float32) - np.float32(zero)) / np.float32(half)


def _full_scale(kind: np.dtype[Any]) -> tuple[float, float]:
    """Return the number that stands for full scale, and the number of zero: 8 bit are unsigned about 128."""
    return (128.0, 128.0) if kind.kind == "u" else (float(2 ** (8 * kind.itemsize - 1)), 0.0)


def _limits(kind: np.dtype[Any]) -> tuple[float, float]:
    half, _ = _full_scale(kind)
    return -1.0, (half - 1.0) / half


def _note(warning: str) -> str:
    """Return what a warning of the library means for the user, empty when it means nothing."""
    if "EOF" in warning or "truncated" in warning:
        return "the file ends before the length that its head gives: the copy is cut short"
    return ""
