"""A wheel of our own that is one of the list with a tooth gone: told as that wheel, with the tooth lost every turn."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.wheel import Wheel

__all__ = ["with_teeth_gone"]

Whole = NDArray[np.int64]

_MOST_GONE = 2


def with_teeth_gone(wheel: Wheel, usual: Sequence[Wheel]) -> tuple[Wheel, Whole] | None:
    """Return the wheel of the list of which this one has lost one or two teeth, and the tooth that each of its is.

    None where there is no such wheel, or more than one way to see it so (a tooth gone beside the gap).

    Parameters
    ----------
    wheel : Wheel
        On an even grid.
    usual : sequence of Wheel
        Wheels of the list.
    """
    ways = [way for other in usual if other.slots == wheel.slots and wheel.slots for way in _ways(wheel, other)]
    fewest = min((other.teeth for other, _ in ways), default=0)
    least = [way for way in ways if way[0].teeth == fewest]
    return least[0] if len(least) == 1 else None


def _ways(wheel: Wheel, other: Wheel) -> list[tuple[Wheel, Whole]]:
    if not 0 < other.teeth - wheel.teeth <= _MOST_GONE:
        return []
    mine, its = _slots(wheel), _slots(other)
    found = []
    for turn in range(wheel.slots):
        turned = (mine + turn) % wheel.slots
        if np.all(np.isin(turned, its)):
            found.append((other, np.searchsorted(its, turned)))
    return found


def _slots(wheel: Wheel) -> Whole:
    return np.round(np.asarray(wheel.angles) * wheel.slots).astype(np.int64)
