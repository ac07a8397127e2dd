"""Stretches in which a shaft turned against its main sense: a roll-back, found and timed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Reversal", "reversals"]


@dataclass(frozen=True)
class Reversal:
    """Turning the other way from when to when [s], over how many steps (pulses, or quarters of a period)."""

    start: float
    end: float
    steps: int


def reversals(times: NDArray[np.float64], sense: NDArray[np.int8], least: int = 2) -> tuple[Reversal, ...]:
    """Return the stretches whose sense is against the main one.

    Parameters
    ----------
    times : (step,) float64 [s]
    sense : (step,) int8
        1 or -1; 0 where a step says nothing, which ends no stretch.
    least : int
        Steps from which a stretch counts; one step alone is a tooth edge that trembles.
    """
    said = np.flatnonzero(sense != 0)
    if said.size == 0:
        return ()
    main = 1 if int(sense[said].sum()) >= 0 else -1
    against = sense[said] != main
    edges = np.flatnonzero(np.diff(np.concatenate([[False], against, [False]]).astype(np.int8)))
    return tuple(
        Reversal(float(times[said[a]]), float(times[said[b - 1]]), int(b - a))
        for a, b in edges.reshape(-1, 2)
        if b - a >= least
    )
