"""Cylinders compared, in words: by the speed of the crank, and by the battery's current or voltage over its angle."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.cycle_harmonics import CycleHarmonics, cycle_harmonics
from proveout.captures.analysis.cylinders import CylinderBalance, cylinder_balance, firing_count, starter_energy
from proveout.captures.analysis.on_grid import on_grid
from proveout.captures.analysis.speed_trace import SpeedTrace
from proveout.captures.analysis.steady_speed import SteadySpeed, steady_speeds
from proveout.captures.findings import Finding, Undecided
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.study import ChannelStudy, Study
from proveout.errors import InputError

__all__ = ["ANALYSIS"]

_NAME = "cylinders"
_RATE = 2000.0
_HARMONICS = 24
"""Three times the most cylinders looked for."""

_MISFIT = 0.3
_IN_RUSH_OVER_MEAN = 3.0
"""Current of a standing starter over that of a turning one, where the record has none (common practice: 2 to 4)."""

Floats = NDArray[np.float64]


def _run(study: Study) -> Iterator[Found]:
    for crank in study.by_role("crank sensor"):
        if not (crank.usable and crank.toothed) or crank.wheel.wheel is None:
            continue
        name = crank.channel.name
        try:
            steady = [stretch for stretch in steady_speeds(crank.grid) if stretch.kind in ("cranking", "idle")]
            if not steady:
                yield Undecided(_NAME, name, "cylinders: there is no steady stretch of cranking or of idling")
            for stretch in steady:
                yield from _by_speed(name, crank, stretch)
                if stretch.kind == "cranking":
                    yield from _by_battery(study, crank, stretch)
        except InputError as error:
            yield Undecided(_NAME, name, f"cylinders: {error}")


def _by_speed(name: str, crank: ChannelStudy, stretch: SteadySpeed) -> Iterator[Found]:
    trace = crank.trace
    inside = (trace.times >= stretch.start) & (trace.times <= stretch.stop)
    harmonics = cycle_harmonics(trace.angles[inside], trace.speed[inside] ** 2, _most(crank))
    number, share = firing_count(harmonics)
    if number is None or 3 * number > harmonics.mean.size:
        reason = (
            f"number of cylinders: no firing order stands out of the ripple of the speed ({share:.0%} of its power)"
        )
        yield Undecided(_NAME, name, reason)
        return
    text = f"{share:.0%} of the ripple's power while {_said(stretch)}"
    yield Finding(_NAME, "cylinders", name, float(number), "1", text=text, start=stretch.start, end=stretch.stop)
    error = _tooth_error(trace)
    found = cylinder_balance(harmonics, number, running=stretch.kind == "idle", tooth_error=error)
    yield from _balance(name, "speed", found, stretch)


def _most(crank: ChannelStudy) -> int:
    """Return how many harmonics of the cycle the teeth can show: four teeth to each wave."""
    teeth = crank.grid.wheel.teeth
    return int(min(_HARMONICS, max(teeth // 2, 1)))


def _tooth_error(trace: SpeedTrace) -> float:
    return trace.confounded if math.isfinite(trace.confounded) else math.inf


def _by_battery(study: Study, crank: ChannelStudy, stretch: SteadySpeed) -> Iterator[Found]:
    trace = crank.trace
    for role, source in (("battery current", "current"), ("battery voltage", "voltage")):
        for channel in study.by_role(role):
            if not channel.usable:
                continue
            harmonics = _of_starter(channel, trace, stretch, voltage=source == "voltage")
            number, _ = firing_count(harmonics)
            if number is None:
                yield Undecided(_NAME, channel.channel.name, f"no firing order stands out of the battery's {source}")
                continue
            found = cylinder_balance(harmonics, number)
            yield from _balance(channel.channel.name, "current" if source == "current" else "voltage", found, stretch)


def _of_starter(channel: ChannelStudy, trace: SpeedTrace, stretch: SteadySpeed, *, voltage: bool) -> CycleHarmonics:
    times, values = on_grid(channel.channel.samples, channel.channel.clock, _RATE)
    inside = (times >= stretch.start) & (times <= stretch.stop)
    if np.count_nonzero(inside) < 2 * _HARMONICS:
        raise InputError(f"'{channel.channel.name}' has too few samples while the engine is cranked")
    if voltage:
        at_rest = float(values.min())
    else:
        values = values * np.sign(values[np.argmax(np.abs(values))])
        seen = times < stretch.start
        peak = float(values[seen].max()) if seen.any() else 0.0
        at_rest = max(peak, _IN_RUSH_OVER_MEAN * float(values[inside].mean()))
    angles = np.interp(times[inside], trace.times, trace.angles)
    return cycle_harmonics(angles, starter_energy(values[inside], at_rest), _HARMONICS)


def _balance(
    name: str, source: Literal["speed", "current", "voltage"], found: CylinderBalance, stretch: SteadySpeed
) -> Iterator[Found]:
    what = "relative compression" if stretch.kind == "cranking" else "relative contribution"
    if found.misfit > _MISFIT:
        reason = f"{what} by {source}: the ripple does not fit that of so many cylinders (misfit {found.misfit:.0%})"
        yield Undecided(_NAME, name, reason)
        return
    for k, (share, error) in enumerate(zip(found.relative, found.uncertainty, strict=True)):
        text = f"in firing order from an unknown one, by {source}, over {found.cycles} cycles while {_said(stretch)}"
        yield Finding(
            _NAME, f"{what} {k + 1}", name, 100 * float(share), "%", 100 * float(error),
            start=stretch.start, end=stretch.stop, text=text,
        )  # fmt: skip
    for first, second, more, error in found.pairs:
        text = "one crank turn apart, over the same teeth; relative to the mean, free of errors of the teeth"
        pair = f"{what} {first + 1} less {second + 1}"
        yield Finding(_NAME, pair, name, 100 * more, "%", 100 * error, start=stretch.start, end=stretch.stop, text=text)
    if found.reason:
        yield Undecided(_NAME, name, f"{what}: {found.reason}")


def _said(stretch: SteadySpeed) -> str:
    return f"{'cranking' if stretch.kind == 'cranking' else 'idling'} at {60 * stretch.speed:.0f} r/min"


ANALYSIS = Analysis("cylinders", "Cylinders compared", _run)
