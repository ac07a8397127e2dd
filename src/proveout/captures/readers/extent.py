"""Least and most of samples some of which may be missing."""

from __future__ import annotations

import numpy as np

from proveout.captures.capture import Samples

__all__ = ["extent"]


def extent(samples: Samples) -> tuple[float, float]:
    """Return the least and the most of samples, NaN for both when none is usable."""
    low = float(samples.min())
    if np.isnan(low):  # the slower way that passes NaN over is for those who have any
        return float(np.fmin.reduce(samples)), float(np.fmax.reduce(samples))
    return low, float(samples.max())
