"""Lost and extra edges: when, how long, how many teeth, at which angle and speed.

With a wheel the joint decoding of the pattern says which teeth gave no edge and which edges belong to none. Evenly
spaced teeth have no pattern, so there the same decoding follows the tempo alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.pattern.follow import Noise, Prices, follow
from proveout.captures.analysis.sharpened import likeliest_noise, lost_of
from proveout.captures.analysis.wheel import Wheel, WheelFit
from proveout.errors import InputError

__all__ = ["Dropout", "dropouts", "follow_tempo"]

Array = NDArray[np.float64]

_COUNTED = 8
"""Teeth counted before the count begins again; a dropout of more than half of them is told by the tempo."""

_STANDS_OUT = 0.25
"""Change of a log interval against its neighbours from which it is looked into: a lost tooth makes 0.7."""

_ABOUT = 30
"""Edges before and after one that stands out that are decoded with it."""

_PRICES = Prices(outlier=60.0, beam=80.0)
"""An interval that no speed explains has to be a dropout here: no pattern of gaps could be meant instead."""

_STRETCH = 400
_FEWEST = 12
_STOPPING = 3.0
"""Ratio of the tooth's time after and before a gap from which it is a stop or a start, not a dropout."""


@dataclass(frozen=True)
class Dropout:
    """Teeth that gave no edge, or edges that belong to no tooth.

    Attributes
    ----------
    kind : `lost` or `extra`
    start, end : float
        Of lost teeth the edges before and after them [s]; of extra edges the first and the last of them.
    count : int
        Teeth lost, or edges too many.
    angle : float
        Angle of the first of them on the wheel [turns, 0 to 1]; NaN where the wheel has no marks.
    speed : float
        Speed there [turn/s]; of a wheel without marks [tooth/s].
    stop : bool
        Whether the teeth before and after pass at so different a speed that the shaft may have stood still.
    """

    kind: Literal["lost", "extra"]
    start: float
    end: float
    count: int
    angle: float
    speed: float
    stop: bool = False


def dropouts(fit: WheelFit) -> tuple[Dropout, ...]:
    """Return lost teeth and extra edges in order of time, neighbours taken together.

    Raises
    ------
    InputError
        If no wheel was found.
    """
    if fit.wheel is None:
        raise InputError(f"there is no wheel to miss teeth of: {fit.reason}")
    found = [*_lost(fit, fit.wheel.teeth), *_extra(fit)]
    return tuple(sorted(found, key=lambda item: item.start))


def follow_tempo(times: Array) -> WheelFit:
    """Return the edges of evenly spaced teeth as if on a wheel of eight, lost and extra ones found by the tempo alone.

    Angles of the result say nothing but how many teeth lie between two edges.

    Parameters
    ----------
    times : (edge,) float64
        Edges of one direction [s], increasing.

    Raises
    ------
    InputError
        If there are fewer than twelve edges.
    """
    if times.size < _FEWEST:
        raise InputError(f"{times.size} edges are too few to follow their tempo; at least {_FEWEST} are needed")
    place = np.arange(times.size) % _COUNTED
    fresh = np.zeros(times.size, dtype=np.bool_)
    noise = _tempo_noise(times)
    for first, last in _windows(times):
        path = follow(times[first:last], np.ones(_COUNTED), noise, _PRICES, int(place[first]))
        kept = int(np.flatnonzero(path.place >= 0)[-1])
        ahead = int(path.place[kept] - place[first + kept])
        place[first:last], fresh[first + 1 : last] = path.place, path.fresh[1:]
        place[last:] = (place[last:] + ahead) % _COUNTED
    return _counted(times, place, fresh)


def _counted(times: Array, place: NDArray[np.int64], fresh: NDArray[np.bool_]) -> WheelFit:
    """Return the edges with their teeth counted; where the count started anew, by the tempo before."""
    kept = np.flatnonzero(place >= 0)
    spans, steps = np.diff(times[kept]), (np.diff(place[kept]) - 1) % _COUNTED + 1
    for k in np.flatnonzero(fresh[kept][1:]).tolist():
        before = slice(max(k - _COUNTED, 0), k)
        tempo = float(np.median(spans[before] / steps[before])) if k else float(np.median(spans / steps))
        steps[k] = max(round(spans[k] / tempo), 1)
    count = np.concatenate([[0], np.cumsum(steps)])
    where, turn = np.full(times.size, -1, dtype=np.int64), np.full(times.size, -1, dtype=np.int64)
    where[kept], turn[kept] = count % _COUNTED, count // _COUNTED
    wheel = Wheel("even teeth", tuple((np.arange(_COUNTED) / _COUNTED).tolist()), _COUNTED)
    return WheelFit(wheel, 1.0, times, where, turn, lost_of(count, _COUNTED), even=True)


def _tempo_noise(times: Array) -> Noise:
    """Return the scatter under which a stretch from the middle of the record is likeliest."""
    first = max((times.size - _STRETCH) // 2, 0)
    return likeliest_noise(times[first : first + _STRETCH], np.ones(_COUNTED), 0)


def _windows(times: Array) -> Iterator[tuple[int, int]]:
    """Yield stretches of edges about intervals that stand out from those beside them."""
    logs = np.log(np.diff(times))
    odd = np.flatnonzero(np.abs(logs[1:-1] - (logs[:-2] + logs[2:]) / 2) > _STANDS_OUT) + 1
    if odd.size == 0:
        return
    for run in np.split(odd, np.flatnonzero(np.diff(odd) > 2 * _ABOUT) + 1):
        yield max(int(run[0]) - _ABOUT, 0), min(int(run[-1]) + _ABOUT, times.size)


def _lost(fit: WheelFit, teeth: int) -> Iterator[Dropout]:
    known = fit.place >= 0
    times, angle = fit.times[known], fit.angle()[known]
    count = fit.turn[known] * teeth + fit.place[known]
    for before in np.flatnonzero(np.diff(count) > 1).tolist():
        after = before + 1
        tempo = _tempo(times, angle, before), _tempo(times, angle, after + 1)
        slow = np.array(tempo)[np.isfinite(tempo)]
        speed = (
            1 / float(np.mean(slow)) if slow.size else (angle[after] - angle[before]) / (times[after] - times[before])
        )
        first = int(count[before]) + 1
        yield _without_marks(
            fit,
            Dropout(
                "lost",
                float(times[before]),
                float(times[after]),
                int(count[after] - count[before]) - 1,
                _angle_of(fit, first % teeth),
                float(speed),
                bool(slow.size == 2 and max(slow) > _STOPPING * min(slow)),
            ),
        )


def _tempo(times: Array, angle: Array, last: int) -> float:
    """Return the time of a turn [s] from the interval that ends at edge `last`, NaN at the ends of the record."""
    if not 0 < last < times.size:
        return float("nan")
    return float((times[last] - times[last - 1]) / (angle[last] - angle[last - 1]))


def _extra(fit: WheelFit) -> Iterator[Dropout]:
    known = fit.place >= 0
    times, angle = fit.times[known], fit.angle()[known]
    extra = np.flatnonzero(~known)
    for run in np.split(extra, np.flatnonzero(np.diff(extra) > 1) + 1):
        if run.size == 0 or times.size < 2:
            continue
        start, end = float(fit.times[run[0]]), float(fit.times[run[-1]])
        after = int(np.clip(np.searchsorted(times, start), 1, times.size - 1))
        tempo = _tempo(times, angle, after)
        at = float(np.interp(start, times, angle)) % 1.0
        yield _without_marks(fit, Dropout("extra", start, end, int(run.size), at, 1 / tempo))


def _angle_of(fit: WheelFit, place: int) -> float:
    return float(np.asarray(fit.wheel.angles)[place]) if fit.wheel else float("nan")


def _without_marks(fit: WheelFit, found: Dropout) -> Dropout:
    """Return what was found with its speed in teeth and no angle where nothing marks a turn."""
    if not fit.even or fit.wheel is None:
        return found
    return replace(found, angle=float("nan"), speed=found.speed * fit.wheel.teeth)
