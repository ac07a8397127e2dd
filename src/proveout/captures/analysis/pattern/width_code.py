"""Slots coded by width: one edge of each tooth stands on an even grid, how wide the tooth is carries the code."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from proveout.captures.analysis.wheel import Wheel

__all__ = ["WidthCode", "duties", "find_code"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

_APART = 0.1  # least difference of the two duties
_CLEAR = 4.0  # and in units of their scatter
_SAMPLES = 2.5  # and of the time between samples: less may be the sampling
_RARE = 0.08  # least share of either width
_AGREE = 0.97  # share of teeth that have the width of the tooth a turn before
_LONGEST = 80
_SLIP, _MISREAD = 6.0, 4.0  # prices of a lost or extra tooth and of a wrong width [nat]


@dataclass(frozen=True)
class WidthCode:
    """The wheel, the tooth of each even edge, and the chance that widths drawn at random would repeat as well."""

    wheel: Wheel
    place: Whole
    chance: float


def duties(up: Array, down: Array, *, ends: bool) -> tuple[Array, Array]:
    """Return the share of each pitch that its tooth takes, and how long that is.

    Parameters
    ----------
    up, down : (edge,) float64
        Times of rising and falling edges [s]; a tooth is where the signal is up.
    ends : bool
        Whether the even edges are the ends of the teeth (falling) or their beginnings.

    Returns
    -------
    duty : (even edge,) float64
        NaN where the other edge is missing, and at one end.
    pitch : (even edge,) float64
        Time from the even edge before (ends) or to the one after (beginnings) [s]; NaN at one end.
    """
    even, other = (down, up) if ends else (up, down)
    inside = np.searchsorted(other, even)
    alone = np.diff(inside) == 1
    between = other[np.minimum(inside[:-1], other.size - 1)]
    pitch = np.diff(even)
    share = np.where(alone, (even[1:] - between if ends else between - even[:-1]) / pitch, np.nan)
    pad = ((1, 0),) if ends else ((0, 1),)
    return np.pad(share, pad, constant_values=np.nan), np.pad(pitch, pad, constant_values=np.nan)


def find_code(duty: Array, pitch: Array, resolution: float = 0.0) -> WidthCode | None:
    """Return the code of a wheel from the duty of each tooth; None where widths are not of two kinds or do not repeat.

    Parameters
    ----------
    duty, pitch : (edge,) float64
        As `duties` returns them.
    resolution : float
        Time between samples [s], 0 when unknown.
    """
    known = np.isfinite(duty)
    level = _between_two(duty[known], resolution / float(np.nanmedian(pitch)) if np.any(known) else 0.0)
    if level is None:
        return None
    wide = duty > level
    period = _repeats_after(wide, known)
    if period is None:
        return None
    pairs = known[period:] & known[:-period]
    share = float(np.mean(wide[known]))
    chance = (share**2 + (1 - share) ** 2) ** float(np.sum(pairs)) * period
    code = _commonest(wide, known, period)
    place = _places(wide, known, code)
    first = max(range(period), key=lambda k: tuple(np.roll(code, -k)))
    place = np.where(place < 0, -1, (place - first) % period)
    widths = tuple(float(np.nanmedian(duty[(place == k) & known])) for k in range(period))
    wheel = Wheel(f"{period} width-coded", tuple(k / period for k in range(period)), period, widths)
    return WidthCode(wheel, place, chance)


def _between_two(duty: Array, resolution: float) -> float | None:
    """Return the level between two kinds of duty; None where there is one kind."""
    if duty.size < 8:
        return None
    level = float(np.min(duty) + np.max(duty)) / 2
    for _ in range(8):
        low, high = duty[duty <= level], duty[duty > level]
        if min(low.size, high.size) < _RARE * duty.size:
            return None
        level = float(np.mean(low) + np.mean(high)) / 2
    apart = float(np.mean(high) - np.mean(low))
    scatter = float(np.hypot(np.std(low), np.std(high)))
    return level if apart > max(_APART, _CLEAR * scatter, _SAMPLES * resolution) else None


def _repeats_after(wide: NDArray[np.bool_], known: NDArray[np.bool_]) -> int | None:
    for period in range(2, min(_LONGEST, wide.size // 2) + 1):
        both = known[period:] & known[:-period]
        if np.any(both) and np.mean((wide[period:] == wide[:-period])[both]) >= _AGREE:
            return period
    return None


def _commonest(wide: NDArray[np.bool_], known: NDArray[np.bool_], period: int) -> NDArray[np.int64]:
    """Return the turn of widths that the next turn repeats, from the middle of the longest run of such repeats."""
    same = (wide[period:] == wide[:-period]) & known[period:] & known[:-period]
    run, best, at = 0, 0, 0
    for k, good in enumerate(same):
        run = run + 1 if good else 0
        if run > best:
            best, at = run, k
    begin = max(0, at - period + 1)
    code = np.zeros(period, np.int64)
    code[(np.arange(begin, begin + period)) % period] = wide[begin : begin + period]
    return code


def _places(wide: NDArray[np.bool_], known: NDArray[np.bool_], code: Whole) -> Whole:
    return _viterbi(wide.astype(np.int64), known, code, _SLIP, _MISREAD)


@njit(cache=True, nogil=True)
def _viterbi(wide, known, code, slip, misread):  # type: ignore[no-untyped-def]
    """Return the likeliest place of each edge: on to the next tooth, past one (lost), or none (extra)."""
    count, period = wide.size, code.size
    score, better = np.zeros(period), np.zeros(period)
    came = np.zeros((count, period), np.int8)  # teeth passed on: 1, 2 or 0 for an extra edge
    for k in range(count):
        for p in range(period):
            cost = misread if known[k] and code[p] != wide[k] else 0.0
            on, past, stay = score[p - 1] - cost, score[p - 2] - cost - slip, score[p] - slip
            best = max(on, past, stay)
            better[p] = best
            came[k, p] = 1 if best == on else (2 if best == past else 0)
        score, better = better, score
    place = np.full(count, -1, np.int64)
    p = int(np.argmax(score))
    for k in range(count - 1, -1, -1):
        if came[k, p] > 0:
            place[k] = p
        p = (p - came[k, p]) % period
    return place
