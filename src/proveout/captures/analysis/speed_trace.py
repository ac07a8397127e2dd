"""Speed over angle: the slope of time over angle by local polynomials, with the teeth where they really stand.

The slope between two teeth comes from a least-squares polynomial through the teeth around (Savitzky and Golay 1964,
here on uneven places). Since the places repeat every turn, so do the weights. How many teeth to take in and which
degree are chosen by an unbiased estimate of the mean square error (Mallows 1973): noise falls with the width, bias
grows with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from proveout.captures.analysis.tooth_spacing import ToothSpacing
from proveout.captures.analysis.turn_grid import TurnGrid
from proveout.errors import InputError

__all__ = ["SpeedTrace", "speed_trace"]

Array = NDArray[np.float64]
FITS = (
    (1, 1), (2, 3), (3, 3), (3, 5), (4, 3), (4, 5), (5, 5), (6, 3), (6, 5), (8, 3), (8, 5), (8, 7), (10, 7), (12, 3),
    (12, 7), (16, 3), (16, 7), (24, 3),
)  # fmt: skip
"""Teeth taken in on either side of an interval, and degree of the polynomial through them."""
LOWEST = np.arange(1, 5)
"""Orders per turn by which cylinders differ most."""
REFERENCE = ((3, 5), (2, 3))
"""Fits with as many teeth as coefficients, without bias to speak of: the choice begins at the noisiest of them."""


@dataclass(frozen=True)
class SpeedTrace:
    """Speed between each tooth and the next.

    Attributes
    ----------
    angles : (interval,) float64
        Middle of each interval since the start of turn 0 [turns].
    times : (interval,) float64
        When it was passed [s].
    speed : (interval,) float64
        [turns/s].
    uncertainty : (interval,) float64
        Standard uncertainty from the timing of the edges and from smoothing [turns/s]; what stays confounded with the
        teeth is not in it.
    confounded : float
        How much of the speed a ripple of the confounded orders may be an error of the teeth: relative standard
        deviation, if they err in those orders as in the ones that could be told. NaN when nothing was learnt.
    width : int
        Teeth taken in on either side of an interval.
    filled : (interval,) bool
        Whether a tooth next to it was lost and its time put in.
    reason : str
        What stays confounded.
    """

    angles: Array
    times: Array
    speed: Array
    uncertainty: Array
    confounded: float
    width: int
    filled: NDArray[np.bool_]
    reason: str


def speed_trace(grid: TurnGrid, spacing: ToothSpacing) -> SpeedTrace:
    """Return the speed of a wheel, its learnt spacing errors taken out.

    Raises
    ------
    InputError
        If fewer than three edges have a place.
    """
    if np.count_nonzero(grid.seen) < 3:
        raise InputError(f"{np.count_nonzero(grid.seen)} edges of the wheel are too few for a speed; record longer")
    first, last = _ends(grid)
    angles = (grid.turn_angles + spacing.errors).ravel()[first : last + 1]
    times, filled = _filled(grid.times.ravel()[first : last + 1], angles)
    place = np.arange(first, last) % grid.wheel.teeth
    spots = grid.angles + spacing.errors
    plain = np.diff(times) / np.diff(angles)
    noise = _noise(times, plain, spots, place)
    fit, bias = _best(times, plain, spots, place, noise)
    slow, weights = _slopes(times, plain, spots, place, *fit)
    spread = np.hypot(np.sqrt(np.sum(weights**2, axis=1))[place] * noise, bias * plain)
    return SpeedTrace(
        0.5 * (angles[1:] + angles[:-1]),
        _middles(times, spots, place, *fit),
        1.0 / slow,
        spread / slow**2,
        _confounded(grid.angles, spacing),
        fit[0],
        filled[1:] | filled[:-1],
        spacing.reason,
    )


def _ends(grid: TurnGrid) -> tuple[int, int]:
    seen = np.flatnonzero(grid.seen.ravel())
    return int(seen[0]), int(seen[-1])


def _filled(times: Array, angles: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Return the times with the lost teeth put in by a spline through the others, and which those are."""
    lost = ~np.isfinite(times)
    if not lost.any():
        return times, lost
    spline = CubicSpline(angles[~lost], times[~lost]) if np.count_nonzero(~lost) > 3 else None
    between = np.interp(angles[lost], angles[~lost], times[~lost]) if spline is None else spline(angles[lost])
    whole = times.copy()
    whole[lost] = between
    if np.any(np.diff(whole) <= 0):
        whole[lost] = np.interp(angles[lost], angles[~lost], times[~lost])
    return whole, lost


def _weights(spots: Array, width: int, degree: int, want: Literal["value", "slope", "rest"]) -> Array:
    """Return the weights of the 2 width teeth around each interval, (place, 2 width).

    For the value or the slope at the middle of the interval, or for what the polynomial leaves of the tooth at its
    beginning.
    """
    teeth = spots.size
    offset = np.arange(teeth)[:, None] + np.arange(1 - width, width + 1)
    position = spots[offset % teeth] + offset // teeth
    middle = 0.5 * (position[:, width - 1] + position[:, width])
    reach = np.maximum(middle - position[:, 0], position[:, -1] - middle)
    scaled = (position - middle[:, None]) / reach[:, None]
    basis = legendre.legvander(scaled, degree)
    if want == "rest":
        wanted = basis[:, width - 1]
    else:
        one = np.eye(degree + 1)
        at_middle = legendre.legval(0.0, one if want == "value" else legendre.legder(one))
        wanted = np.broadcast_to(at_middle, (teeth, degree + 1))
    normal = np.swapaxes(basis, 1, 2) @ basis
    weights = np.einsum("pkd,pd->pk", basis, np.linalg.solve(normal, wanted[:, :, None])[:, :, 0])
    if want == "slope":
        return weights / reach[:, None]
    if want == "rest":
        weights = -weights
        weights[:, width - 1] += 1.0
    return weights


def _applied(weights: Array, values: Array, place: NDArray[np.intp]) -> tuple[Array, slice]:
    """Return the weighted sums where all teeth around exist, and which intervals those are."""
    width = weights.shape[1] // 2
    inner = slice(width - 1, place.size - width + 1)
    count = max(inner.stop - inner.start, 0)
    total = np.zeros(count)
    for k in range(2 * width):
        total += weights[place[inner], k] * values[k : k + count]
    return total, inner


def _noise(times: Array, plain: Array, spots: Array, place: NDArray[np.intp]) -> Array:
    """Return the standard deviation of an edge's time at each interval [s].

    What a polynomial through the teeth around leaves of a tooth, robustly (median), as a share of the time of a turn.
    """
    if place.size < 8:
        return np.zeros(place.size)
    weights = _weights(spots, *((4, 5) if min(spots.size, place.size) > 8 else (3, 3)), "rest")
    rest, inner = _applied(weights, times, place)
    scale = np.sqrt(np.sum(weights**2, axis=1))[place[inner]]
    relative = np.abs(rest / scale / plain[inner])
    return plain * float(np.median(relative)) / 0.6745  # median of |standard normal|


def _best(
    times: Array, plain: Array, spots: Array, place: NDArray[np.intp], noise: Array
) -> tuple[tuple[int, int], float]:
    """Return the fit with the least mean square error, and its relative bias.

    Fits are tried from the noisiest to the smoothest. Each is held against the best one so far: what their difference
    has beyond noise is bias that was added.
    """
    largest = min(spots.size, place.size // 2)
    share = (noise / plain) ** 2
    listed = [(fit, *_slopes(times, plain, spots, place, *fit)) for fit in FITS if 2 * fit[0] <= max(largest, 2)]
    costs = [float(np.mean(share * np.sum(weights**2, axis=1)[place])) for _, _, weights in listed]
    order = sorted(range(len(listed)), key=lambda k: (-costs[k], -listed[k][0][1]))
    first = next((k for k in order if listed[k][0] in REFERENCE), order[0])
    best, bias = first, 0.0
    for k in order[order.index(first) + 1 :]:
        across = _padded(listed[k][2], FITS[-1][0]) - _padded(listed[best][2], FITS[-1][0])
        away = ((listed[k][1] - listed[best][1]) / plain) ** 2
        added = max(float(np.mean(away - share * np.sum(across**2, axis=1)[place])), 0.0)
        if bias + added + costs[k] < bias + costs[best]:
            best, bias = k, bias + added
    return listed[best][0], float(np.sqrt(bias))


def _middles(times: Array, spots: Array, place: NDArray[np.intp], width: int, degree: int) -> Array:
    """Return when the middle angle of each interval was passed: not half way in time while the speed changes."""
    middles = 0.5 * (times[1:] + times[:-1])
    found, inner = _applied(_weights(spots, width, degree, "value"), times, place)
    room = 0.1 * np.diff(times)[inner]
    middles[inner] = np.clip(found, times[:-1][inner] + room, times[1:][inner] - room)
    return middles


def _slopes(
    times: Array, plain: Array, spots: Array, place: NDArray[np.intp], width: int, degree: int
) -> tuple[Array, Array]:
    """Return the slope at each interval (plain differences near the ends) and the weights."""
    weights = _weights(spots, width, degree, "slope")
    slow = plain.copy()
    found, inner = _applied(weights, times, place)
    slow[inner] = np.where(found > 0, found, plain[inner])
    return slow, weights


def _padded(weights: Array, width: int) -> Array:
    side = width - weights.shape[1] // 2
    return np.pad(weights, ((0, 0), (side, side)))


def _confounded(angles: Array, spacing: ToothSpacing) -> float:
    """Return the relative speed error of the confounded orders if they err as those that were learnt.

    An error of standard deviation a per order changes the speed in order m by ``2 pi m a`` relatively. Where no order
    is confounded, what is left is how well the lowest ones are known.
    """
    if not spacing.learnt:
        return float("nan")
    if spacing.orders == 0:
        known = 2.0 * np.mean(spacing.uncertainty**2) / angles.size
        return float(np.sqrt(np.sum((2.0 * np.pi * LOWEST) ** 2) * known))
    real = max(float(np.sum(spacing.errors**2) - np.sum(spacing.uncertainty**2)), 0.0)
    per_tooth = real / max(float(spacing.share.sum()), 1.0)
    per_order = 2.0 * per_tooth / angles.size
    orders = np.arange(1, spacing.orders + 1)
    return float(np.sqrt(np.sum((2.0 * np.pi * orders) ** 2) * per_order))
