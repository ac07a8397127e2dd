"""A capture as a folder: a JSON file that describes it, and an array file for each channel and each list of times."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.captures.capture import Capture, Channel, Clock, Guess, Origin
from proveout.captures.pyramid import write_pyramid
from proveout.errors import StoreError

__all__ = ["LONG", "open_capture", "pyramid_file", "write_capture"]

LONG = 1 << 20
"""Samples from which on the extremes are kept beside them; below they are made when they are needed."""

_DESCRIPTION = "capture.json"


def write_capture(capture: Capture, folder: Path) -> None:
    """Write a capture into an empty folder."""
    times: dict[int, str] = {}
    channels = []
    for k, channel in enumerate(capture.channels):
        np.save(folder / _samples_file(k), channel.samples, allow_pickle=False)
        if channel.samples.size >= LONG:
            write_pyramid(channel.samples, folder / pyramid_file(k))
        channels.append(_channel(channel, times, folder))
    description = {
        "channels": channels,
        "origin": asdict(capture.origin),
        "guesses": [asdict(guess) for guess in capture.guesses],
        "notes": list(capture.notes),
        "details": dict(capture.details),
    }
    (folder / _DESCRIPTION).write_text(json.dumps(description, ensure_ascii=False, indent=1), "utf-8")


def open_capture(folder: Path) -> Capture:
    """Open a capture; its samples and times are mapped, not read.

    Raises
    ------
    StoreError
        The folder is damaged.
    """
    try:
        description = json.loads((folder / _DESCRIPTION).read_text("utf-8"))
        times: dict[str, NDArray[np.float64]] = {}
        return Capture(
            tuple(_opened(folder, k, entry, times) for k, entry in enumerate(description["channels"])),
            Origin(**description["origin"]),
            tuple(Guess(**guess) for guess in description["guesses"]),
            tuple(description["notes"]),
            description["details"],
        )
    except (OSError, ValueError, KeyError, TypeError, EOFError) as error:
        raise StoreError(
            f"the samples in '{folder}' are damaged ({error}); delete the folder and attach the original again"
        ) from error


def pyramid_file(k: int) -> str:
    """Return the name of the file with the extremes of a channel."""
    return f"{k:04d}.extremes.npy"


def _samples_file(k: int) -> str:
    return f"{k:04d}.npy"


def _channel(channel: Channel, times: dict[int, str], folder: Path) -> dict[str, Any]:
    clock = channel.clock
    file = None
    if clock.times is not None:
        file = times.get(id(clock.times))
        if file is None:
            file = times[id(clock.times)] = f"times-{len(times):04d}.npy"
            np.save(folder / file, clock.times, allow_pickle=False)
    return {
        "name": channel.name,
        "unit": channel.unit,
        "over_low": channel.over_low,
        "over_high": channel.over_high,
        "clock": {"start": clock.start, "rate": clock.rate, "times": file, "holds": clock.holds},
    }


def _opened(folder: Path, k: int, entry: Mapping[str, Any], times: dict[str, NDArray[np.float64]]) -> Channel:
    said = entry["clock"]
    stamps = None
    if said["times"] is not None:
        stamps = times.setdefault(said["times"], np.load(folder / said["times"], mmap_mode="r", allow_pickle=False))
    clock = Clock(said["start"], said["rate"], stamps, said["holds"])
    samples = np.load(folder / _samples_file(k), mmap_mode="r", allow_pickle=False)
    return Channel(entry["name"], entry["unit"], samples, clock, entry["over_low"], entry["over_high"])
