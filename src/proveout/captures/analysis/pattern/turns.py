"""From places to turns: which turn each edge belongs to, and which teeth gave none."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["laid_out"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


def laid_out(times: Array, place: Whole, fresh: NDArray[np.bool_], angles: Array) -> tuple[Whole, Whole, Whole]:
    """Return place, turn and lost teeth of a train of edges.

    Over a dropout (the count starts anew, or the pause is longer than half a turn at the speeds on both sides of it)
    the turns in between are those that the speed before it would have made.

    Parameters
    ----------
    times : (edge,) float64 [s]
    place : (edge,) int64
        Tooth of each edge, -1 for none.
    fresh : (edge,) bool
        Whether the count starts anew there.
    angles : (tooth,) float64
        Angle of each tooth [turns].

    Returns
    -------
    place : (edge,) int64
    turn : (edge,) int64
        0 for the first edge; -1 where place is.
    lost : (lost, 2) int64
        Turn and tooth.
    """
    kept = np.flatnonzero(place >= 0)
    at, when = place[kept], times[kept]
    if kept.size == 0:
        return place, np.full(place.size, -1), np.empty((0, 2), np.int64)
    ahead = np.where(at[1:] <= at[:-1], 1, 0)
    for k in np.flatnonzero(fresh[kept][1:] | _pauses(when, at, angles)):
        ahead[k] = max(ahead[k], _turns_missed(when, at, angles, int(k)))
    turn_of = np.concatenate([[0], np.cumsum(ahead)])
    turn = np.full(place.size, -1, np.int64)
    turn[kept] = turn_of
    return place, turn, _lost(turn_of * angles.size + at, angles.size)


def _pauses(when: Array, at: Whole, angles: Array) -> NDArray[np.bool_]:
    """Tell intervals in which a shaft as slow as on either side of them would have made over half a turn too much."""
    step = (angles[at[1:]] - angles[at[:-1]]) % 1.0
    step = np.where(step == 0, 1.0, step)
    speed = step / np.diff(when)
    slower = np.minimum(np.append(speed[:1], speed[:-1]), np.append(speed[1:], speed[-1:]))
    return slower * np.diff(when) - step > 0.5


def _turns_missed(when: Array, at: Whole, angles: Array, k: int) -> int:
    """Return the turns from edge k to k + 1 at the speed of the edges before k."""
    first = max(0, k - angles.size)
    if first == k:
        return 0
    seen = float(angles[at[k]] - angles[at[first]]) + float(np.sum(at[first + 1 : k + 1] <= at[first:k]))
    speed = seen / float(when[k] - when[first])
    return int(np.round(speed * float(when[k + 1] - when[k]) - float(angles[at[k + 1]] - angles[at[k]])))


def _lost(count: Whole, teeth: int) -> Whole:
    """Return turn and tooth of every count between the first and the last that is not there."""
    steps = np.diff(count)
    gaps = np.flatnonzero(steps > 1)
    missing = [np.arange(count[k] + 1, count[k + 1]) for k in gaps]
    flat = np.concatenate(missing) if missing else np.empty(0, np.int64)
    return np.stack([flat // teeth, flat % teeth], axis=1)
