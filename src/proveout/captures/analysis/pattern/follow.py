"""Joint decoding of a train of edges: place on the wheel and smooth speed together, with lost and extra edges.

A hidden Markov chain over the places of a turn, in which each surviving path carries its own small Kalman filter of the
log slowness (a local level and slope, an integrated random walk over the angle). Between two accepted edges at an
angle D apart, measured in pitches,

    log(T / D) = s + e,    e ~ N(0, (sigma / D)^2),    s' = s + h g,    g' = g + w,    w ~ N(0, accel^2 h)

with T the time between them and h the angle between the middles of this interval and the last. A path may pass over
places (lost edges), leave an edge out (extra edges), or start anew anywhere (after a dropout); each has its price.

Sources: Viterbi 1967; survivors that carry their own estimator: Raheli, Polydoros and Tzou 1995; the local linear
trend: Harvey 1989; all from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["Noise", "Path", "Prices", "follow"]

Array = NDArray[np.float64]

_SKIPS = 4
_SMOOTH = 2.0  # an edge that fits better than this is not worth leaving out [nat]
_STUMBLE = 5.0  # a path starts anew only where the best one pays more than this [nat]
_COLUMNS = 7  # level, slope, their variances and covariance, angle of the last interval, time of the last edge


@dataclass(frozen=True)
class Noise:
    """Scatter of an interval, `sigma` [pitches], and of the slope of log slowness, `accel` [1/pitch per root pitch]."""

    sigma: float
    accel: float


@dataclass(frozen=True)
class Prices:
    """What a path pays in nats for a lost edge, each further one of the same burst, an extra edge, a new start.

    A reading that no smooth speed explains costs at most `outlier`. Paths more than `beam` behind are given up.
    """

    lost: float = 8.0
    more_lost: float = 2.5
    extra: float = 8.0
    restart: float = 18.0
    outlier: float = 12.0
    beam: float = 30.0


@dataclass(frozen=True)
class Path:
    """The best path: place of each edge (-1 where left out), whether it starts anew there, and its log likelihood."""

    place: NDArray[np.int64]
    fresh: NDArray[np.bool_]
    score: float


def follow(times: Array, steps: Array, noise: Noise, prices: Prices = Prices(), start: int = -1) -> Path:
    """Return the likeliest places of the edges on a wheel.

    Parameters
    ----------
    times : (edge,) float64
        Time of each edge [s], increasing.
    steps : (place,) float64
        Angle from each place to the next [pitches].
    noise : Noise
        Scatter of intervals and of speed.
    prices : Prices
        What lost and extra edges cost.
    start : int
        Place of the first edge; -1 when unknown.
    """
    place, fresh, score = _follow(
        np.ascontiguousarray(times), np.ascontiguousarray(steps), noise.sigma, noise.accel, prices.lost,
        prices.more_lost, prices.extra, prices.restart, prices.outlier, prices.beam, start,
    )  # fmt: skip
    return Path(place, fresh, float(score))


@njit(cache=True, nogil=True)
def _predict(row, angle, interval, sigma, accel):  # type: ignore[no-untyped-def]  # compiled: types are inferred
    """Return innovation, its variance and the predicted state of one filter."""
    h = 0.5 * (row[5] + angle)
    power = accel * accel
    level = row[0] + h * row[1]
    p11 = row[2] + 2 * h * row[3] + h * h * row[4] + power * h * h * h / 3
    p12 = row[3] + h * row[4] + power * h * h / 2
    p22 = row[4] + power * h
    variance = p11 + sigma * sigma / (angle * angle)
    return np.log(interval / angle) - level, variance, level, p11, p12, p22


@njit(cache=True, nogil=True)
def _advance(row, new, angle, time, sigma, accel, outlier):  # type: ignore[no-untyped-def]
    """Write the filter after an accepted edge to `new`; one that does not fit leaves the level as predicted."""
    error, variance, level, p11, p12, p22 = _predict(row, angle, time - row[6], sigma, accel)
    if 0.5 * error * error / variance > outlier:
        error, k1, k2 = 0.0, 0.0, 0.0
    else:
        k1, k2 = p11 / variance, p12 / variance
    new[0] = level + k1 * error
    new[1] = row[1] + k2 * error
    new[2] = p11 - k1 * p11
    new[3] = p12 - k1 * p12
    new[4] = p22 - k2 * p12
    new[5] = angle
    new[6] = time


@njit(cache=True, nogil=True)
def _follow(times, steps, sigma, accel, lost, more, extra, restart, outlier, beam, start):  # type: ignore[no-untyped-def]
    # Long because the loop shares its buffers: state p < places is "edge accepted at p", places + p "edge left out".
    places, count = steps.size, times.size
    states = 2 * places
    pitch_time = np.log(np.median(np.diff(times)))
    score, better = np.full(states, -np.inf), np.full(states, -np.inf)
    filters, renewed = np.zeros((states, _COLUMNS)), np.zeros((states, _COLUMNS))
    came = np.full((count, states), -1, np.int32)
    angle_of, paid = np.zeros(states), np.zeros(states)
    for p in range(places):
        if start < 0 or start == p:
            score[p] = 0.0
        filters[p, 0] = pitch_time
        filters[p, 2], filters[p, 4], filters[p, 5], filters[p, 6] = 1.0, accel * accel + 0.01, 1.0, times[0]
    for k in range(1, count):
        best = np.argmax(score)
        bar = score[best] - beam
        better[:] = -np.inf
        for state in range(states):
            if score[state] < bar:
                continue
            p = state % places
            angle, price, fit = 0.0, 0.0, extra
            interval = times[k] - filters[state, 6]
            for skip in range(min(_SKIPS, places)):
                angle += steps[(p + skip) % places]
                if skip == 1:
                    price += lost
                elif skip > 1:
                    price += more
                error, variance, _, _, _, _ = _predict(filters[state], angle, interval, sigma, accel)
                cost = price + min(0.5 * error * error / variance, outlier)
                fit = min(fit, cost)
                value = score[state] - cost - 0.5 * np.log(variance)
                to = (p + skip + 1) % places
                if value > better[to]:
                    better[to] = value
                    came[k, to] = state
                    angle_of[to], paid[to] = angle, cost
            if fit > _SMOOTH and score[state] - extra > better[places + p]:
                better[places + p] = score[state] - extra
                came[k, places + p], paid[places + p] = state, extra
        anew = score[best] - restart - np.log(places)
        dear = paid[np.argmax(better)] > _STUMBLE
        for p in range(places):
            if dear and better[p] < anew:
                better[p] = anew
                came[k, p] = best + states
        for to in range(states):
            if better[to] == -np.inf:
                continue
            source = came[k, to]
            if to >= places or source >= states:
                for column in range(_COLUMNS):
                    renewed[to, column] = filters[source % states, column]
            if source >= states:
                renewed[to, 1], renewed[to, 2], renewed[to, 3] = 0.0, 1.0, 0.0
                renewed[to, 4], renewed[to, 5], renewed[to, 6] = accel * accel + 0.01, 1.0, times[k]
            elif to < places:
                _advance(filters[source], renewed[to], angle_of[to], times[k], sigma, accel, outlier)
        score, better = better, score
        filters, renewed = renewed, filters
    place, fresh = np.full(count, -1, np.int64), np.zeros(count, np.bool_)
    state = int(np.argmax(score))
    total = score[state]
    for k in range(count - 1, -1, -1):
        if state < places:
            place[k] = state
        source = came[k, state]
        if source >= states:
            fresh[k] = True
            source -= states
        state = source
    return place, fresh, total
