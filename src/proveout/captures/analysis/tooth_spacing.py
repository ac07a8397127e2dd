"""Spacing errors of the teeth, learned over many turns as far as one capture can tell them from the speed's ripple.

A spacing error repeats every turn; so does a ripple of the speed of whole order. Times of stretches of four turns (two
cycles of a four-stroke engine) are therefore fitted by everything that the motion may do, a smooth trend and the orders
1/2 to L per turn, and only what is left, the same in turn after turn, is a tooth's own. With the slowness
s = dt/dangle, a tooth that stands e turns late passes ``s e`` late:

    t[n, p] = b[n] . basis(p) + s[n, p] e[p]

over the places p of all turns of a stretch n. Dividing by s and projecting the basis out gives ``R[n] (t/s) = R[n] e``,
a linear least-squares problem summed over stretches (own derivation). Directions of which the projections leave less
than half are not determined and stay zero: they are the orders 0 to L themselves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.turn_grid import TurnGrid

__all__ = [
    "OVERLAP",
    "TURNS",
    "ToothSpacing",
    "learn_spacing",
    "over_motion",
    "over_stretches",
    "ripple_orders",
    "stretches",
    "without_motion",
]

Array = NDArray[np.float64]
MOST_ORDERS = 12
"""Orders that compression and combustion of up to eight cylinders fill noticeably while cranking (common practice)."""
LEAST_TEETH = 20
TURNS = 4
"""Turns of a stretch. With two, a trend and the half orders together could imitate what repeats every turn."""
MOST_STRETCHES = 32
"""Stretches learnt from, spread over the capture; more gain nothing that matters."""
DETERMINED = 0.5
OVERLAP = np.sqrt(2.0)  # stretches share half their turns
TREND = 6  # coefficients of the trend over a stretch


@dataclass(frozen=True)
class ToothSpacing:
    """What was learnt of the teeth.

    Attributes
    ----------
    errors : (place,) float64
        How far after its place each tooth stands [turns]; only the part that can be told, zero otherwise.
    uncertainty : (place,) float64
        Standard uncertainty of `errors` from the scatter between turns [turns].
    share : (place,) float64
        How much of a single tooth's own displacement is in the part that can be told, 0 to 1.
    scatter : float
        Standard deviation of one edge about its place, from turn to turn [turns]; NaN when nothing was learnt.
    orders : int
        Orders per turn, from 1, that stay confounded with ripple; 0 when nothing was learnt.
    turns : int
        Turns that it was learnt from.
    reason : str
        What stays confounded, or why nothing was learnt.
    """

    errors: Array
    uncertainty: Array
    share: Array
    scatter: float
    orders: int
    turns: int
    reason: str

    @property
    def learnt(self) -> bool:
        """Whether anything was learnt."""
        return self.turns > 0


def ripple_orders(teeth: int) -> int:
    """Return how many orders per turn are left to the motion of a wheel of so many teeth; 0 if it has too few."""
    return 0 if teeth < LEAST_TEETH else min(MOST_ORDERS, teeth // 4)


def learn_spacing(grid: TurnGrid, orders: int | None = None) -> ToothSpacing:
    """Learn the spacing errors of a wheel's teeth.

    Parameters
    ----------
    grid : TurnGrid
    orders : int, optional
        Orders per turn that the motion may have; `ripple_orders` of the wheel unless given.

    Returns
    -------
    ToothSpacing
    """
    teeth = grid.wheel.teeth
    most = ripple_orders(teeth) if orders is None else orders
    if most == 0 or teeth < 2 * most + 4:
        return _nothing(teeth, f"a wheel of {teeth} teeth has too few to tell its spacing from the ripple of the speed")
    starts = stretches(grid)
    if starts.size == 0:
        return _nothing(teeth, f"no {TURNS} turns in a row are whole, too few to learn the spacing of the teeth from")
    slow, times = over_stretches(grid.slowness(), starts), over_stretches(grid.times, starts)
    orders_of_motion = np.arange(1, 2 * most + 1) / 2.0
    scaled, motion = over_motion(grid, times, slow, orders_of_motion)
    return _solved(scaled, motion, most)


def stretches(grid: TurnGrid) -> NDArray[np.intp]:
    """Return the first turns of stretches of whole turns, half overlapping, spread over the capture."""
    whole = np.zeros(len(grid.times) + 1, dtype=np.intp)
    whole[1:] = np.cumsum(grid.seen.all(axis=1))
    found: list[int] = []
    last = -TURNS
    for start in np.flatnonzero(whole[TURNS:] - whole[:-TURNS] == TURNS).tolist():
        if start >= last + TURNS // 2:
            found.append(start)
            last = start
    spread = np.linspace(0, len(found) - 1, min(MOST_STRETCHES, len(found))).astype(np.intp)
    return np.array(found, dtype=np.intp)[spread]


def over_stretches(table: Array, starts: NDArray[np.intp]) -> Array:
    """Return a table (turn, place) as (stretch, tooth of all its turns)."""
    return np.hstack([table[starts + k] for k in range(TURNS)])


def _nothing(teeth: int, reason: str) -> ToothSpacing:
    zero = np.zeros(teeth)
    return ToothSpacing(zero, zero, zero, float("nan"), 0, 0, reason)


def over_motion(grid: TurnGrid, times: Array, slow: Array, orders: Array) -> tuple[Array, Array]:
    """Return times in turns, and what the motion may be in the same measure.

    Parameters
    ----------
    grid : TurnGrid
    times, slow : (stretch, tooth) float
        Times [s] and slowness [s/turn] over the turns of each stretch.
    orders : (order,) float
        Orders per turn, whole or half.

    Returns
    -------
    scaled : (stretch, turn, place) float
        t / s [turns].
    motion : (stretch, turn, place, function) float
        Orthonormal over turn and place: a trend and the orders, over s. The projection R takes these out.
    """
    angles = (np.arange(TURNS)[:, None] + grid.angles).ravel()
    wave = 2.0 * np.pi * orders * angles[:, None]
    trend = np.polynomial.legendre.legvander(2.0 * angles / TURNS - 1.0, TREND - 1)
    basis = np.column_stack([trend, np.cos(wave), np.sin(wave)])
    q, _ = np.linalg.qr(basis[None] / (slow / slow.mean(axis=1, keepdims=True))[:, :, None])
    scaled = (times - times.mean(axis=1, keepdims=True)) / slow
    shape = (len(times), TURNS, grid.angles.size)
    return scaled.reshape(shape), q.reshape(*shape, -1)


def without_motion(values: Array, motion: Array) -> Array:
    """Return R values: (stretch, turn, place) without what the motion may be."""
    return values - np.einsum("nupf,nf->nup", motion, np.einsum("nupf,nup->nf", motion, values))


def _solved(scaled: Array, motion: Array, orders: int) -> ToothSpacing:
    count, _, teeth = scaled.shape
    folded = motion.sum(axis=1)
    size, direction = np.linalg.eigh(TURNS * count * np.eye(teeth) - np.tensordot(folded, folded, ([0, 2], [0, 2])))
    chosen = size > DETERMINED * TURNS * count
    kept = direction[:, chosen]
    inverse = kept / size[chosen] @ kept.T
    left = without_motion(scaled, motion)
    errors = inverse @ left.sum(axis=(0, 1))
    rest = without_motion(left - errors, motion)
    free = rest.size - count * motion.shape[3] - kept.shape[1]
    scatter = float(np.sqrt(np.sum(rest**2) / max(free, 1)))
    return ToothSpacing(
        errors,
        scatter * np.sqrt(np.diag(inverse)) * OVERLAP,
        np.sum(kept**2, axis=1),
        scatter,
        orders,
        (count + 1) * TURNS // 2,
        f"spacing errors of orders 1 to {orders} per turn cannot be told from a ripple of the speed of those orders",
    )
