"""Rise and fall time: from 10 % to 90 % of the swing, as IEEE Std 181-2011 (5.3.3) has it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from proveout.captures.analysis.passes import readable
from proveout.captures.capture import Samples

__all__ = ["Transition", "transition_time"]

_MOST = 2000
_FARTHEST = 0.5


@dataclass(frozen=True)
class Transition:
    """The usual time of one kind of transition.

    Attributes
    ----------
    samples : float
        Median over the edges, in samples.
    error : float
        Standard uncertainty of it, in samples.
    resolved : bool
        Whether most transitions have a sample between 10 % and 90 %; if not, the time is only known to be below one or
        two samples.
    edges : int
        Transitions measured.
    """

    samples: float
    error: float
    resolved: bool
    edges: int


@njit(nogil=True, cache=True)
def _spans(x, positions, starts, stops, low, high, rising, spans, between):  # type: ignore[no-untyped-def]
    """Fill the span of each transition [samples] and how many samples lie between the two references."""
    for k in range(positions.size):
        i = int(positions[k])
        while i > starts[k] and not (x[i] <= low if rising else x[i] >= high):
            i -= 1
        j = i + 1
        while j < stops[k] and not (x[j] >= high if rising else x[j] <= low):
            j += 1
        reached = j < x.size and (x[j] >= high if rising else x[j] <= low)
        if not (reached and (x[i] <= low if rising else x[i] >= high)):
            spans[k] = np.nan
            continue
        near, far = (low, high) if rising else (high, low)
        leave = i + (near - x[i]) / (np.float64(x[i + 1]) - x[i])
        reach = j - 1 + (far - x[j - 1]) / (np.float64(x[j]) - x[j - 1])
        spans[k] = reach - leave
        between[k] = j - i - 1


def transition_time(
    samples: Samples, positions: NDArray[np.float64], rising: NDArray[np.bool_], low: float, high: float, *, up: bool
) -> Transition | None:
    """Return the usual rise or fall time; None where no transition can be followed from one level to the other.

    Parameters
    ----------
    samples : (sample,) float32 or float64
    positions : (edge,) float64
        Edges in samples from the first one.
    rising : (edge,) bool
    low, high : float
        The two levels [unit of the samples].
    up : bool
        Rise time if true, fall time if false.
    """
    x = readable(samples)
    mine = np.flatnonzero(rising == up)
    mine = mine[:: max(mine.size // _MOST, 1)]
    if mine.size == 0 or high <= low:
        return None
    padded = np.concatenate([[0.0], positions, [x.size - 1.0]])
    before, at, after = padded[mine], padded[mine + 1], padded[mine + 2]
    starts = np.ceil(at - _FARTHEST * (at - before)).astype(np.int64)
    stops = np.minimum(np.floor(at + _FARTHEST * (after - at)).astype(np.int64) + 1, x.size - 1)
    spans, between = np.full(mine.size, np.nan), np.zeros(mine.size)
    tenth = 0.1 * (high - low)
    _spans(x, at, starts, stops, low + tenth, high - tenth, up, spans, between)
    good = np.isfinite(spans)
    if not good.any():
        return None
    kept = spans[good]
    error = 1.2533 * float(np.std(kept, ddof=1)) / kept.size**0.5 if kept.size > 1 else float("nan")
    return Transition(float(np.median(kept)), error, bool(np.median(between[good]) >= 1), int(kept.size))
