"""A record brought to so many samples a second: block means of even samples, straight lines between uneven ones."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.captures.capture import Clock, Samples
from proveout.errors import InputError

__all__ = ["on_grid"]

Floats = NDArray[np.float64]


def on_grid(samples: Samples, clock: Clock, rate: float) -> tuple[Floats, Floats]:
    """Return times [s] and values of a record at `rate` [Hz] or its own, whichever is less.

    Missing samples are left out of their block; a block without any is filled by a straight line.

    Raises
    ------
    InputError
        If fewer than two samples are usable.
    """
    if np.count_nonzero(np.isfinite(samples[: 1 << 20])) < 2 and np.count_nonzero(np.isfinite(samples)) < 2:
        raise InputError(f"fewer than 2 of {samples.size} samples are usable")
    return _even(samples, clock.start, clock.rate, rate) if clock.rate else _uneven(samples, clock, rate)


def _even(samples: Samples, start: float, own: float, rate: float) -> tuple[Floats, Floats]:
    size = max(int(own / rate), 1)
    count = samples.size // size
    blocks = samples[: count * size].reshape(count, size)
    values: Floats = blocks.mean(axis=1, dtype=np.float64) if size > 1 else blocks[:, 0].astype(np.float64)
    for row in np.flatnonzero(~np.isfinite(values)):
        kept = blocks[row][np.isfinite(blocks[row])]
        values[row] = kept.mean(dtype=float) if kept.size else np.nan
    times: Floats = start + (np.arange(count, dtype=np.float64) * size + (size - 1) / 2) / own
    return times, _filled(times, values)


def _uneven(samples: Samples, clock: Clock, rate: float) -> tuple[Floats, Floats]:
    own = np.asarray(clock.times)
    known = np.isfinite(samples)
    count = max(min(int((own[-1] - own[0]) * rate) + 1, 10_000_000), 2)
    times: Floats = np.linspace(float(own[0]), float(own[-1]), count, dtype=np.float64)
    if clock.holds:
        at = np.searchsorted(own[known], times, side="right") - 1
        return times, samples[known][np.maximum(at, 0)].astype(float)
    return times, np.interp(times, own[known], samples[known])


def _filled(times: Floats, values: Floats) -> Floats:
    known = np.isfinite(values)
    return values if known.all() else np.interp(times, times[known], values[known])
