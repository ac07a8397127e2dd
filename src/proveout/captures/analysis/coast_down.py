"""Spacing errors of all orders, from a capture in which the speed changes: the ripple falls with speed, the teeth stay.

Gas torque that depends on the angle alone adds the same kinetic energy at the same angle: with w^2 = w0^2 + 2 W / J the
angle swings by ``x = (w1 / w0)^2`` times a pattern, and by ``x^2`` times a second, smaller one. A tooth's error does
not change. Over stretches of turns, with the motion's trend and half orders projected out,

    R[n] (t/s) = R[n] (e + g x[n] + h x[n]^2)

separates them wherever the speed changes enough (own derivation). It holds for a coast-down with the engine off and the
throttle as it is; combustion and a moving throttle change the torque with speed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.steady_speed import turn_speeds
from proveout.captures.analysis.tooth_spacing import (
    OVERLAP,
    TURNS,
    ToothSpacing,
    over_motion,
    over_stretches,
    ripple_orders,
    stretches,
    without_motion,
)
from proveout.captures.analysis.turn_grid import TurnGrid
from proveout.errors import InputError

__all__ = ["LEAST_SPEED_RATIO", "coast_down_within", "spacing_from_coast_down"]

Array = NDArray[np.float64]
LEAST_SPEED_RATIO = 1.5
LEAST_STRETCHES = 6
STANDING = 400.0 / 60.0
"""Speed below which an engine that slows does not idle any more [turns/s]."""
FALL = 0.001
"""Share by which the speed falls from turn to turn, at least, while the shaft is slowing."""
PATTERNS = 3


def spacing_from_coast_down(grid: TurnGrid) -> ToothSpacing:
    """Learn the spacing errors of all orders from a capture in which the speed falls.

    Parameters
    ----------
    grid : TurnGrid

    Returns
    -------
    ToothSpacing
        With `orders` 0: no order stays confounded, if the torque does not change with speed.

    Raises
    ------
    InputError
        If there are too few whole turns, or the speed changes too little.
    """
    starts = stretches(grid)
    if starts.size < LEAST_STRETCHES:
        raise InputError(
            f"{starts.size + 1} pairs of whole turns in a row are too few for a coast-down; record from higher speed"
        )
    slow = over_stretches(grid.slowness(), starts)
    mean = slow.reshape(starts.size, TURNS, -1).mean(axis=2)
    ratio = float(mean.max() / mean.min())
    if ratio < LEAST_SPEED_RATIO:
        raise InputError(
            f"the speed changes by a factor of {ratio:.2f}; to tell teeth from ripple it must change by "
            f"{LEAST_SPEED_RATIO} or more: record until the engine stands"
        )
    orders = np.arange(max(ripple_orders(grid.wheel.teeth), 2), dtype=float) + 0.5
    scaled, motion = over_motion(grid, over_stretches(grid.times, starts), slow, orders)
    return _solved(scaled, motion, (mean / mean.min()) ** 2)


def coast_down_within(grid: TurnGrid) -> TurnGrid | None:
    """Return the turns over which the shaft slows to below what an engine idles at, None where there are too few.

    An engine that slows to below 400 rpm is about to stand: nothing burns in it any more (common practice).
    """
    speed = turn_speeds(grid).speed
    known = np.flatnonzero(np.isfinite(speed))
    if known.size < 2:
        return None
    slowing = np.diff(speed[known]) < -FALL * speed[known][:-1]
    cuts = np.flatnonzero(~slowing)
    bounds = np.concatenate([[-1], cuts, [slowing.size]])
    best = int(np.argmax(np.diff(bounds)))
    first, last = known[bounds[best] + 1], known[bounds[best + 1]]
    enough = last - first + 1 >= (LEAST_STRETCHES + 1) * TURNS // 2
    if not enough or speed[last] > STANDING or speed[first] < LEAST_SPEED_RATIO * speed[last]:
        return None
    return TurnGrid(grid.wheel, grid.times[first : last + 2])


def _solved(scaled: Array, motion: Array, lever: Array) -> ToothSpacing:
    """Solve for the teeth and the two patterns of the ripple together; `lever` (stretch, turn) is x."""
    count, _, teeth = scaled.shape
    powers = lever[:, :, None] ** np.arange(PATTERNS)
    folded = np.einsum("nua,nupf->napf", powers, motion)
    plain = np.einsum("nua,nub,pq->apbq", powers, powers, np.eye(teeth))
    normal = (plain - np.einsum("napf,nbqf->apbq", folded, folded, optimize=True)).reshape(PATTERNS * teeth, -1)
    left = without_motion(scaled, motion)
    goal = np.einsum("nua,nup->ap", powers, left).ravel()
    # A pattern's mean is a shift of time, which the motion takes up: it is set to nothing.
    inverse = np.linalg.inv(normal + np.kron(np.eye(PATTERNS), np.full((teeth, teeth), float(count))))
    patterns = (inverse @ goal).reshape(PATTERNS, teeth)
    rest = without_motion(left - powers @ patterns, motion)
    free = max(rest.size - count * motion.shape[3] - PATTERNS * (teeth - 1), 1)
    scatter = float(np.sqrt(np.sum(rest**2) / free))
    return ToothSpacing(
        patterns[0] - patterns[0].mean(),
        OVERLAP * scatter * np.sqrt(np.maximum(np.diag(inverse)[:teeth], 0.0)),
        np.ones(teeth),
        scatter,
        0,
        (count + 1) * TURNS // 2,
        "teeth told from ripple by a coast-down: right if the engine's torque over the angle did not change with speed",
    )
