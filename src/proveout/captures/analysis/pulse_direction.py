"""Direction from the length of each speed pulse."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
import yaml
from numpy.typing import NDArray

from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.reversals import Reversal, reversals

__all__ = ["PulseDirection", "PulseLength", "direction_of_pulses"]

_NEAR = 0.25
"""Octaves from a published length within which a pulse is taken for it: half of what parts one from the next."""


@dataclass(frozen=True)
class PulseLength:
    """One length that occurs: its median [s], how many pulses have it, the published length [s] and what that says."""

    length: float
    count: int
    published: float
    says: str


@dataclass(frozen=True)
class PulseDirection:
    """What the pulse lengths say.

    Attributes
    ----------
    times : (pulse,) float64
        Beginning of each pulse [s].
    sense : (pulse,) int8
        1 and -1 for the two senses of rotation, 0 for a pulse that says none.
    lengths : tuple of PulseLength
        Lengths that occur, shortest first.
    unknown : int
        Pulses whose length is none of the published ones.
    reversals : tuple of Reversal
    """

    times: NDArray[np.float64]
    sense: NDArray[np.int8]
    lengths: tuple[PulseLength, ...]
    unknown: int
    reversals: tuple[Reversal, ...]


@cache
def _published() -> tuple[Mapping[str, Any], ...]:
    return tuple(yaml.safe_load(resources.files(__package__).joinpath("pulse_lengths.yaml").read_text("utf-8")))


def direction_of_pulses(edges: Edges) -> PulseDirection:
    """Return the direction that speed pulses carry.

    Parameters
    ----------
    edges : Edges
        Of the signal; a pulse is from a rising edge to the falling one after it.
    """
    first = 0 if edges.rising.size and edges.rising[0] else 1
    up, down = edges.times[first::2], edges.times[first + 1 :: 2]
    count = min(up.size, down.size)
    up, widths = up[:count], down[:count] - up[:count]
    entries = _published()
    octaves = np.log2(np.array([entry["length"] * 1e-6 for entry in entries]))
    away = np.abs(np.log2(np.maximum(widths, 1e-9))[:, np.newaxis] - octaves)
    code = np.where(away.min(axis=1) <= _NEAR, away.argmin(axis=1), -1) if count else np.empty(0, dtype=np.int64)
    turns = np.array([entry["turns"] for entry in entries], dtype=np.int8)
    sense = np.where(code >= 0, turns[code], 0).astype(np.int8)
    lengths = tuple(
        PulseLength(float(np.median(widths[code == k])), int(np.sum(code == k)), entry["length"] * 1e-6, entry["says"])
        for k, entry in enumerate(entries)
        if np.any(code == k)
    )
    return PulseDirection(up, sense, lengths, int(np.sum(code < 0)), reversals(up, sense))
