"""Stretches without an edge between edges that go on as before: a signal lost, whatever its wheel.

Where no wheel is found, single lost teeth cannot be told; but no wheel in use has a gap of many pitches between teeth
that pass evenly before and after.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Silence", "silences"]

Array = NDArray[np.float64]
LONG = 8.0
"""How many intervals of its neighbourhood a silence is long, at least: more than any gap of a wheel in use."""
AROUND = 12
ALIKE = 3.0
"""Factor within which the tempo before and after must agree; else the shaft may have stood still."""


@dataclass(frozen=True)
class Silence:
    """From the last edge before to the first one after [s], and how many edges would have fitted in."""

    start: float
    end: float
    edges: int


def silences(times: Array) -> tuple[Silence, ...]:
    """Return the silences between edges of one direction.

    Parameters
    ----------
    times : (edge,) float
        Increasing [s].
    """
    steps = np.diff(times)
    if steps.size < 2 * AROUND:
        return ()
    found = []
    for k in np.flatnonzero(steps > LONG * float(np.median(steps))):
        before, after = steps[max(k - AROUND, 0) : k], steps[k + 1 : k + 1 + AROUND]
        if before.size < AROUND // 2 or after.size < AROUND // 2:
            continue
        one, other = float(np.median(before)), float(np.median(after))
        tempo = max(one, other)
        if steps[k] > LONG * tempo and max(one, other) < ALIKE * min(one, other):
            found.append(Silence(float(times[k]), float(times[k + 1]), round(float(steps[k]) / tempo) - 1))
    return tuple(found)
