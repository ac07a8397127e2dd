"""Edges of a switching or alternating signal: crossings of a threshold with hysteresis, timed between samples."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Edges"]


@dataclass(frozen=True)
class Edges:
    """Where a signal crossed its threshold.

    Attributes
    ----------
    times : (edge,) float64
        Time of each crossing [s], increasing, linearly interpolated between samples.
    rising : (edge,) bool
        Whether the signal went up; rising and falling edges alternate.
    """

    times: NDArray[np.float64]
    rising: NDArray[np.bool_]

    def up(self) -> NDArray[np.float64]:
        """Return the times of the rising edges [s]."""
        return self.times[self.rising]

    def down(self) -> NDArray[np.float64]:
        """Return the times of the falling edges [s]."""
        return self.times[~self.rising]
