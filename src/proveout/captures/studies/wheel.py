"""Wheel pattern, lost and extra teeth, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from proveout.captures.analysis.dropouts import Dropout, dropouts
from proveout.captures.analysis.lost_level import level_while_lost
from proveout.captures.analysis.odd_teeth import extra_teeth, missing_teeth
from proveout.captures.analysis.silences import silences
from proveout.captures.analysis.wheel import Wheel, WheelFit
from proveout.captures.findings import Finding, Mark, Undecided, WheelPicture
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.study import ChannelStudy, Study
from proveout.errors import InputError

__all__ = ["ANALYSIS"]

_NAME = "wheel"
_NEAR, _FAINT = 8, 2.5
"""Half cycles on either side, and times the half width of the hysteresis below which their amplitude is too small."""

_SAME_ANGLE = 0.25
"""Pitches within which an extra edge belongs to one that comes back in every turn."""


def _run(study: Study) -> Iterator[Found]:
    for name, channel in study.channels.items():
        if not channel.usable or study.role(name) == "not used":
            continue
        if channel.toothed:
            yield from _wheel(name, channel)
        elif channel.kind.undersampled:
            yield Undecided(_NAME, name, f"wheel and speed: {channel.kind.reason}")


def _wheel(name: str, channel: ChannelStudy) -> Iterator[Found]:
    fit = channel.wheel
    if fit.wheel is None:
        yield Undecided(_NAME, name, f"wheel: {fit.reason}")
    else:
        text = f"{fit.wheel.name}: {fit.wheel.teeth} edges a turn, {fit.probability:.0%}"
        yield Finding(_NAME, "wheel", name, float(fit.wheel.teeth), "1", word=fit.wheel.name, text=text)
        if fit.reason:
            yield Undecided(_NAME, name, f"wheel: {fit.reason}")
        yield _picture(name, channel, fit.wheel)
    try:
        if channel.teeth is not None:
            yield from _lost(name, channel, channel.teeth)
        else:
            yield from _silent(name, channel)
    except InputError as error:
        yield Undecided(_NAME, name, f"lost teeth: {error}")


def _picture(name: str, channel: ChannelStudy, wheel: Wheel) -> WheelPicture:
    fit, lost = channel.wheel, ()
    if fit.lost.size:
        lost = tuple(np.bincount(fit.lost[:, 1], minlength=wheel.teeth).tolist())
    amplitude: tuple[float, ...] = ()
    if channel.kind.kind == "variable reluctance":
        swings = channel.swings
        amplitude = tuple(_mean(swings[fit.place == k]) for k in range(wheel.teeth))
    error = tuple(channel.spacing.errors.tolist()) if channel.spacing.learnt else ()
    return WheelPicture(name, wheel.name, wheel.angles, amplitude, error, lost)


def _mean(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else math.nan


def _lost(name: str, channel: ChannelStudy, fit: WheelFit) -> Iterator[Found]:
    once = [item for item in dropouts(fit) if not _every_turn(item, channel, fit)]
    found = [item for item in once if not _faint(item, channel)]
    if len(found) < len(once):
        reason = (
            f"{len(once) - len(found)} places where the signal hardly leaves the noise: no tooth is called lost there"
        )
        yield Undecided(_NAME, name, reason)
    lost, extra = ([item for item in found if item.kind == kind] for kind in ("lost", "extra"))
    seen = int(np.count_nonzero(fit.place >= 0))
    yield from _counted(name, "lost teeth", lost, seen + sum(item.count for item in lost))
    yield from _counted(name, "extra edges", extra, seen)
    yield from _level(name, channel, [(item.start, item.end) for item in lost])
    for item in found:
        yield _mark(name, item)


def _silent(name: str, channel: ChannelStudy) -> Iterator[Found]:
    """Yield long losses of a signal whose wheel is not known; single teeth cannot be told then."""
    found = silences(channel.edges.up())
    text = "stretches without an edge while teeth pass before and after, longer than any gap of a wheel in use"
    yield Finding(_NAME, "silences", name, float(len(found)), "1", 0.0, text=text if found else "none that is long")
    yield from _level(name, channel, [(item.start, item.end) for item in found])
    for item in found:
        yield Mark("dropout", name, item.start, item.end, f"about {item.edges} edges", count=item.edges)


def _level(name: str, channel: ChannelStudy, spans: list[tuple[float, float]]) -> Iterator[Finding]:
    """Yield the level at which a switching signal stands while it is lost."""
    if not spans or channel.kind.kind == "variable reluctance":
        return
    levels = channel.levels
    found = level_while_lost(channel.channel.samples, channel.channel.clock, spans, levels.swing, levels.noise)
    if found is not None:
        text = "where the signal stands in the stretches in which teeth are lost"
        yield Finding(_NAME, "level while lost", name, found, channel.channel.unit, levels.noise, text=text)


def _every_turn(item: Dropout, channel: ChannelStudy, fit: WheelFit) -> bool:
    """Tell whether it comes back in every turn: then the wheel is damaged there, and the odd teeth say so."""
    if fit.even or fit.wheel is None:
        return False
    odd = missing_teeth(channel.grid) if item.kind == "lost" else extra_teeth(fit, channel.grid)
    pitch = 1 / max(fit.wheel.slots, fit.wheel.teeth)
    away = [abs((tooth.angle - item.angle + 0.5) % 1.0 - 0.5) for tooth in odd]
    return any(distance < _SAME_ANGLE * pitch for distance in away)


def _faint(item: Dropout, channel: ChannelStudy) -> bool:
    """Tell whether the half cycles about it are so small that the hysteresis alone may have taken an edge."""
    level, high = float(channel.thresholds.level[0]), float(channel.thresholds.high[0])
    at = int(np.searchsorted(channel.edges.times, item.start))
    near = channel.peaks[max(at - _NEAR, 0) : at + _NEAR]
    return near.size > 0 and float(np.nanmedian(np.abs(near - level))) < _FAINT * (high - level)


def _counted(name: str, what: str, found: list[Dropout], teeth: int) -> Iterator[Found]:
    count = sum(item.count for item in found)
    if count == 0:
        yield Finding(_NAME, what, name, 0.0, "1", 0.0, text=f"none among {teeth} teeth")
        return
    text = f"{count} of {teeth} teeth ({count / teeth:.2%}), in {len(found)} places in time"
    yield Finding(_NAME, what, name, float(count), "1", 0.0, start=found[0].start, end=found[-1].end, text=text)


def _mark(name: str, item: Dropout) -> Mark:
    kind = "extra edge" if item.kind == "extra" else "lost tooth" if item.count == 1 else "dropout"
    told = [
        f"{item.count} {'tooth' if item.count == 1 else 'teeth'}" if item.kind == "lost" else f"{item.count} too many"
    ]
    if math.isfinite(item.angle):
        told.append(f"at {360 * item.angle:.0f}° after the gap, {60 * item.speed:.0f} r/min")
    else:
        told.append(f"at {item.speed:.3g} teeth/s")
    if item.stop:
        told.append("the speed differs so much before and after that the shaft may have stood still")
    angle = item.angle if math.isfinite(item.angle) else None
    speed = item.speed if math.isfinite(item.angle) else None
    return Mark(kind, name, item.start, item.end, ", ".join(told), angle, speed, item.count)


ANALYSIS = Analysis("wheel", "Wheel, lost and extra teeth", _run)
