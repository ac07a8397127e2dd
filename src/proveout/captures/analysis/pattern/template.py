"""The turn folded: mean log interval from each place to the next, once edges are laid on places."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.pattern.follow import Noise, Path, Prices, follow
from proveout.captures.analysis.pattern.period import repeat_mismatch, running_mean

__all__ = ["Template", "fold", "noise_of", "pitches"]

Array = NDArray[np.float64]

_LEAST_SIGMA = 0.012  # [pitches]: no tooth is known better than that, and less calls a good edge an extra one
_LEAST_SCATTER = 0.002  # a clock's resolution; also keeps a noiseless signal from infinite likelihood
_TRIAL = 200  # edges on which the noise is chosen
_USUAL = (Noise(0.03, 0.03), Noise(0.08, 0.15))  # tried beside the noise estimated, should that be far off
# Second differences of level + noise of a local linear trend: variance and covariances one and two apart are these
# multiples of sigma^2 and accel^2.
_MOMENTS = np.array([[6.0, 2 / 3], [-4.0, 1 / 6], [1.0, 0.0]])
_ROUNDS = 2
_SHORTEST_TREND = 9  # intervals: whole turns that hold at least so many


@dataclass(frozen=True)
class Template:
    """A turn of so many edges as the data show it.

    Attributes
    ----------
    logs : (place,) float64
        Mean log interval from each place to the next, less the mean over the turn: angle and what speed repeats.
    error : (place,) float64
        Its standard error.
    turns : float
        Turns that went into it.
    path : Path
        The edges laid on the places.
    scatter : float
        Standard deviation of one log interval about the template.
    noise : Noise
        The likeliest of the scatters tried.
    """

    logs: Array
    error: Array
    turns: float
    path: Path
    scatter: float
    noise: Noise

    @property
    def steps(self) -> Array:
        """Angle from each place to the next [pitches], as far as speed does not repeat with the turn."""
        return pitches(self.logs)


def pitches(logs: Array) -> Array:
    """Return intervals in units of their median."""
    return np.exp(logs - np.median(logs))


def fold(times: Array, period: int, prices: Prices, logs: Array | None = None) -> Template:
    """Return the folded turn of `period` edges, lost and extra ones sorted out.

    Begins from the stretch of the record that repeats best, or from `logs`, and alternates laying the edges on places
    and averaging.

    Parameters
    ----------
    times : (edge,) float64 [s]
    period : int
        Edges in a turn; at least two turns must be there.
    prices : Prices
        What lost and extra edges cost.
    logs : (place,) float64, optional
        Log intervals of a turn to begin from.
    """
    intervals = np.log(np.diff(times))
    logs = _best_repeat(intervals, period) if logs is None else logs
    noise = _likeliest(times[:_TRIAL], logs, _repeat_noise(intervals, period), prices)
    start = -1
    for _ in range(_ROUNDS):
        path = follow(times, pitches(logs), noise, prices, start)
        start = int(path.place[0])
        logs, error, turns, scatter, noise = _averaged(times, path.place, logs)
    noise = _likeliest(times[:_TRIAL], logs, noise, prices, start)
    # A shaft that starts from rest may lead the search astray before the first gap: both beginnings are tried.
    path = max((follow(times, pitches(logs), noise, prices, begin) for begin in (start, -1)), key=lambda p: p.score)
    return Template(logs, error, turns, path, scatter, noise)


def _likeliest(times: Array, logs: Array, noise: Noise, prices: Prices, start: int = -1) -> Noise:
    noises = (Noise(max(noise.sigma, _LEAST_SIGMA), max(noise.accel, _LEAST_SCATTER)), *_USUAL)
    return max(noises, key=lambda each: follow(times, pitches(logs), each, prices, start).score)


def _repeat_noise(intervals: Array, period: int) -> Noise:
    """Return the noise of one interval against the one a turn later, shared between the two."""
    change = intervals[period:] - intervals[:-period]
    both = noise_of(change)
    return Noise(both.sigma / np.sqrt(2), both.accel / np.sqrt(2))


def noise_of(levels: Array) -> Noise:
    """Return scatter and slope scatter of log slowness that wanders, from its second differences.

    Parameters
    ----------
    levels : (interval,) float64
        Log slowness of one interval after the other. Second differences count up to five times their middle size.
    """
    second = np.diff(levels, 2)
    if second.size < 3:
        return Noise(0.05, 0.05)
    limit = 5 * float(np.median(np.abs(second))) + 0.02
    second = np.clip(second, -limit, limit)
    seen = [float(np.mean(second[lag:] * second[: second.size - lag])) for lag in range(3)]
    power = np.linalg.lstsq(_MOMENTS, np.array(seen), rcond=None)[0]
    least = 0.01 * max(seen[0], 1e-8)
    return Noise(*(float(value) for value in np.sqrt(np.maximum(power, least))))


def _best_repeat(intervals: Array, period: int) -> Array:
    mismatch = repeat_mismatch(intervals, period)
    total = np.concatenate([[0.0], np.cumsum(mismatch)])
    begin = int(np.argmin(total[period:] - total[:-period])) if mismatch.size > period else 0
    turn = (intervals[begin : begin + period] + intervals[begin + period : begin + 2 * period]) / 2
    return turn - np.mean(turn)


def _averaged(times: Array, place: NDArray[np.int64], logs: Array) -> tuple[Array, Array, float, float, Noise]:
    """Return mean logs a place, their errors, the turns behind them, the scatter of one interval and its noise."""
    period = logs.size
    kept = np.flatnonzero(place >= 0)
    whole = (place[kept[1:]] - place[kept[:-1]] - 1) % period == 0
    at = place[kept[:-1]][whole]
    level = np.log(np.diff(times[kept])[whole]) - logs[at]
    excess = level - running_mean(level, period * max(1, -(-_SHORTEST_TREND // period)))
    counts = np.maximum(np.bincount(at, minlength=period), 1)
    shift = _clipped_mean(excess, at, counts, period)
    left = excess - shift[at]
    scatter = float(np.sqrt(np.sum(np.minimum(left**2, 0.25)) / max(left.size - period, 1))) + _LEAST_SCATTER
    better = logs + shift
    noise = noise_of(level - shift[at])
    return better - np.mean(better), max(scatter, _LEAST_SIGMA) / np.sqrt(counts), at.size / period, scatter, noise


def _clipped_mean(excess: Array, at: NDArray[np.int64], counts: NDArray[np.int64], period: int) -> Array:
    """Return the mean at each place of what is within half of the middle value, so that one slip does not move it."""
    limit = 5 * float(np.median(np.abs(excess - np.median(excess)))) + 0.02
    held = np.clip(excess, -np.maximum(limit, 0.1), np.maximum(limit, 0.1))
    return np.bincount(at, weights=held, minlength=period) / counts
