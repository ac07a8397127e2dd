"""Speed, steady stretches, spacing of the teeth, odd teeth, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.odd_teeth import OddTooth, displaced_teeth, extra_teeth, missing_teeth, weak_teeth
from proveout.captures.analysis.run_out import run_out_of_spacing
from proveout.captures.analysis.speed_trace import SpeedTrace
from proveout.captures.analysis.steady_speed import steady_speeds
from proveout.captures.findings import Finding, Mark, Undecided
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.studies.coil import amplitude_of
from proveout.captures.study import ChannelStudy, Study
from proveout.errors import InputError

__all__ = ["ANALYSIS"]

_NAME = "speed"
_OFF, _WANTED = 0.41, 0.01
_WIDE = 1.4
_SAID = {
    "displaced": "stands {size:+.2f} of a pitch off its place",
    "weak": "gives {size:.0%} less signal than its neighbours",
    "missing": "gives no edge in {size:.0%} of the turns",
    "extra": "has an edge too many beside it in {size:.0%} of the turns",
}


def _run(study: Study) -> Iterator[Found]:
    for name, channel in study.channels.items():
        if not (channel.usable and channel.toothed) or study.role(name) == "not used":
            continue
        if channel.wheel.wheel is None:
            if channel.wheel.even:
                yield from _tooth_rate(name, channel)
            continue
        try:
            yield from _speed(name, channel, study.role(name) in ("crank sensor", "speed sensor"))
            yield from _odd_teeth(name, channel)
        except InputError as error:
            yield Undecided(_NAME, name, str(error))


def _tooth_rate(name: str, channel: ChannelStudy) -> Iterator[Found]:
    rate = 1 / np.diff(channel.wheel.times)
    if rate.size:
        text = "teeth a second; nothing marks a turn, so the speed of the shaft needs the number of teeth"
        yield Finding(_NAME, "tooth rate", name, float(np.median(rate)), "1/s", text=text)
        yield Finding(_NAME, "fastest tooth rate", name, float(np.percentile(rate, 99)), "1/s")


def _speed(name: str, channel: ChannelStudy, crank: bool) -> Iterator[Found]:
    trace = channel.trace
    yield from _extremes(name, channel, trace)
    turns, span = float(trace.angles[-1] - trace.angles[0]), float(trace.times[-1] - trace.times[0])
    over = partial(Finding, start=float(trace.times[0]), end=float(trace.times[-1]))
    yield over(_NAME, "mean speed", name, turns / span, "turn/s", text=f"{_rpm(turns / span)} over {turns:.1f} turns")
    for steady in steady_speeds(channel.grid):
        what = f"{steady.kind} speed" if crank and steady.kind != "other" else "steady speed"
        text = f"{_rpm(steady.speed)} over {steady.turns} turns"
        during = partial(Finding, start=steady.start, end=steady.stop, text=text)
        yield during(_NAME, what, name, steady.speed, "turn/s", steady.uncertainty)
    if trace.reason:
        yield Undecided(_NAME, name, trace.reason)
    if channel.spacing.learnt and channel.spacing.orders == 0:
        out = run_out_of_spacing(channel.grid.angles, channel.spacing)
        text = f"off the axis, a share of the radius, towards {360 * out.high:.0f}° after the gap, by the spacing"
        yield Finding(_NAME, "eccentricity", name, out.eccentricity, "1", out.uncertainty, text=text)


def _extremes(name: str, channel: ChannelStudy, trace: SpeedTrace) -> Iterator[Found]:
    """Yield the lowest and the highest speed, over as many teeth as the sampling needs to time them to 1 %.

    The time between two edges of a switch is a whole number of samples, 0.41 of one off (standard deviation).
    """
    samples = channel.features.samples_a_period
    teeth = max(math.ceil(_OFF / (_WANTED * samples)), 1) if math.isfinite(samples) else 1
    if trace.speed.size <= teeth:
        return
    speed = (trace.angles[teeth:] - trace.angles[:-teeth]) / (trace.times[teeth:] - trace.times[:-teeth])
    for what, k in (("lowest speed", int(np.argmin(speed))), ("highest speed", int(np.argmax(speed)))):
        value, error = float(speed[k]), float(trace.uncertainty[k : k + teeth].mean()) / teeth
        over = partial(Finding, start=float(trace.times[k]), end=float(trace.times[k + teeth]))
        text = _rpm(value) if teeth == 1 else f"{_rpm(value)} over {teeth} teeth"
        yield over(_NAME, what, name, value, "turn/s", math.hypot(error, value * _OFF / (samples * teeth)), text=text)


def _rpm(speed: float) -> str:
    return f"{60 * speed:.1f} r/min"


def _odd_teeth(name: str, channel: ChannelStudy) -> Iterator[Found]:
    grid, fit = channel.grid, channel.wheel
    odd = [*missing_teeth(grid), *extra_teeth(fit, grid)]
    if channel.spacing.learnt:
        coil = channel.kind.kind == "variable reluctance"
        beside = _beside_gaps(grid.angles) if coil else np.zeros(grid.angles.size, dtype=np.bool_)
        odd += [tooth for tooth in displaced_teeth(grid.angles, channel.spacing) if not beside[tooth.place]]
    if channel.kind.kind == "variable reluctance":
        amplitude = amplitude_of(channel)
        odd += weak_teeth(grid.angles, amplitude.teeth, amplitude.teeth_uncertainty)
    if not odd:
        yield Finding(_NAME, "odd teeth", name, 0.0, "1", 0.0, text="every tooth is like the others")
    for tooth in odd:
        text = f"the tooth {360 * tooth.angle:.0f}° after the gap {_SAID[tooth.kind].format(size=tooth.size)}"
        yield Finding(_NAME, f"{tooth.kind} tooth", name, tooth.size, "1", tooth.uncertainty, text=text)
        yield _first(name, channel, tooth, text)


def _beside_gaps(angles: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which teeth stand beside a gap: a coil's zero moves there on any good wheel, as the flux is lopsided."""
    wide = np.flatnonzero(np.diff([*angles, 1.0]) > _WIDE * float(np.median(np.diff([*angles, 1.0]))))
    beside = np.zeros(angles.size, dtype=np.bool_)
    beside[wide], beside[(wide + 1) % angles.size] = True, True
    return beside


def _first(name: str, channel: ChannelStudy, tooth: OddTooth, text: str) -> Mark:
    """Return a mark at the first turn in which both neighbours of the tooth were seen."""
    column = channel.grid.times[:, tooth.place]
    times = column[np.isfinite(column)]
    if times.size == 0:
        times = np.nanmin(channel.grid.times, axis=1)[:1]
    return Mark("damaged tooth", name, float(times[0]), float(times[0]), text, tooth.angle)


ANALYSIS = Analysis("speed", "Speed and the teeth", _run)
