"""Where a signal rests: its low and its high level, its noise, and the thresholds that follow from them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.crossings import Thresholds
from proveout.captures.capture import Samples
from proveout.errors import InputError

__all__ = ["excerpt", "noise_of", "suggest_thresholds"]

_BLOCKS, _BLOCK = 256, 2048

_NOISE_WIDTHS = 8.0
"""Width of the hysteresis in standard deviations of the noise: four on either side."""


def excerpt(samples: Samples) -> NDArray[np.float64]:
    """Return up to half a million usable samples: all of a short record, or whole blocks evenly spread over a long one.

    Blocks keep neighbours together, so that a periodic signal is not aliased as by taking every n-th sample. The result
    is (block, sample) float64 with NaN where the record has none; infinite values count as none.
    """
    if samples.size <= _BLOCKS * _BLOCK:
        part = np.array(samples, dtype=np.float64)[np.newaxis, :]
    else:
        starts = np.linspace(0, samples.size - _BLOCK, _BLOCKS).astype(np.int64)
        part = np.stack([samples[start : start + _BLOCK] for start in starts]).astype(np.float64)
    part[~np.isfinite(part)] = np.nan
    return part


def noise_of(part: NDArray[np.float64]) -> float:
    """Return the standard deviation of the noise from sample to sample, in the samples' unit.

    From the median size of the second differences, which steps and slow curves hardly touch: for white noise of
    standard deviation s they have sqrt(6) s, and the median size of a normal value is 0.6745 standard deviations.
    """
    bends = np.abs(np.diff(part, n=2, axis=-1))
    bends = bends[np.isfinite(bends)]
    return float(np.median(bends)) / (0.6745 * 6**0.5) if bends.size else 0.0


def suggest_thresholds(samples: Samples) -> Thresholds:
    """Return a level halfway between the two clusters of the samples, with a hysteresis that noise does not cross.

    Raises
    ------
    InputError
        If the samples are all the same or none is usable: there is no edge to find.
    """
    part = excerpt(samples)
    values = part[np.isfinite(part)]
    if values.size < 2 or values.min() == values.max():
        raise InputError(f"{values.size} usable samples, all the same; edges need a signal that changes")
    low, high = _clusters(values)
    width = high - low
    return Thresholds.at((low + high) / 2, float(np.clip(_NOISE_WIDTHS * noise_of(part), 0.1 * width, 0.6 * width)))


def _clusters(values: NDArray[np.float64]) -> tuple[float, float]:
    """Return the centres of two clusters (Lloyd's iteration from the extremes, on a histogram)."""
    counts, borders = np.histogram(values, bins=1024)
    centres = (borders[:-1] + borders[1:]) / 2
    split = float(values.min() + values.max()) / 2
    for _ in range(100):
        below = centres < split
        low = float(np.average(centres[below], weights=counts[below]))
        high = float(np.average(centres[~below], weights=counts[~below]))
        if abs((low + high) / 2 - split) <= borders[1] - borders[0]:
            break
        split = (low + high) / 2
    return low, high
