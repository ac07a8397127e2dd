"""Battery and starter, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.battery import Cranking, compressions, find_cranking, internal_resistance
from proveout.captures.analysis.on_grid import on_grid
from proveout.captures.findings import Finding, Mark, Undecided
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.study import ChannelStudy, Study
from proveout.errors import InputError

__all__ = ["ANALYSIS"]

_NAME = "battery"
_RATE = 1000.0
_SETTLED = 0.3

Floats = NDArray[np.float64]


def _run(study: Study) -> Iterator[Found]:
    currents = study.by_role("battery current")
    for voltage in study.by_role("battery voltage"):
        try:
            yield from _start(voltage, currents[0] if currents else None)
        except InputError as error:
            yield Undecided(_NAME, voltage.channel.name, str(error))


def _start(voltage: ChannelStudy, current: ChannelStudy | None) -> Iterator[Found]:
    name = voltage.channel.name
    times, volts = on_grid(voltage.channel.samples, voltage.channel.clock, _RATE)
    start = find_cranking(times, volts)
    yield from _voltages(name, start)
    yield Mark("in-rush", name, start.onset, start.lowest_time, f"{start.lowest:.2f} V")
    turning = (times >= start.onset + _SETTLED) & (times < start.end)
    dips = compressions(times[turning], volts[turning]) if turning.any() else np.empty(0)
    yield from _ripple(name, dips)
    if current is None:
        reason = "internal resistance: that needs the battery's current beside its voltage"
        yield Undecided(_NAME, name, reason)
    else:
        yield from _with_current(voltage, current, start, times, volts)


def _voltages(name: str, start: Cranking) -> Iterator[Found]:
    find = partial(Finding, _NAME, channel=name, unit="V")
    if math.isfinite(start.resting):
        yield find(name="resting voltage", value=start.resting, uncertainty=start.resting_error, end=start.onset)
    else:
        yield Undecided(_NAME, name, "resting voltage: the record begins with the starter on")
    yield find(name="in-rush voltage", value=start.lowest, start=start.onset, end=start.lowest_time)
    if math.isfinite(start.plateau):
        turning = partial(find, start=start.onset + _SETTLED, end=start.end)
        yield turning(name="cranking voltage", value=start.plateau, uncertainty=start.plateau_error)
        if math.isfinite(start.resting):
            ratio = (start.resting - start.lowest) / (start.resting - start.plateau)
            text = (
                "drop of the in-rush over that of the plateau; from voltage alone this is all that is said of the load"
            )
            yield Finding(_NAME, "in-rush drop over cranking drop", name, ratio, "1", text=text)
    else:
        yield Undecided(_NAME, name, "cranking voltage: the starter turned for too short a time")
    if start.recovered:
        yield Finding(_NAME, "cranking time", name, start.end - start.onset, "s", start=start.onset, end=start.end)
        if math.isfinite(start.running):
            yield find(name="voltage after the start", value=start.running, start=start.end)


def _ripple(name: str, dips: Floats) -> Iterator[Found]:
    if dips.size < 4:
        yield Undecided(_NAME, name, "compression ripple: fewer than four dips stand out while cranking")
        return
    rates = 1 / np.diff(dips)
    rate, error = float(np.median(rates)), 1.2533 * float(np.std(rates, ddof=1)) / rates.size**0.5
    text = f"{dips.size} compressions seen in the voltage"
    yield Finding(_NAME, "compressions", name, rate, "1/s", error, start=float(dips[0]), end=float(dips[-1]), text=text)
    for time in dips:
        yield Mark("compression", name, float(time), float(time))


def _with_current(
    voltage: ChannelStudy, current: ChannelStudy, start: Cranking, times: Floats, volts: Floats
) -> Iterator[Found]:
    name = current.channel.name
    own, amps = on_grid(current.channel.samples, current.channel.clock, _RATE)
    amps = np.interp(times, own, amps)
    amps = amps * np.sign(amps[np.argmax(np.abs(amps))])
    inrush = (times >= start.onset) & (times <= start.onset + _SETTLED)
    turning = (times >= start.onset + _SETTLED) & (times < start.end)
    if inrush.any():
        yield Finding(_NAME, "in-rush current", name, float(amps[inrush].max()), "A", start=start.onset)
    if turning.sum() >= 10:
        yield Finding(_NAME, "cranking current", name, float(amps[turning].mean()), "A", end=start.end)
    near = (times >= start.onset - _SETTLED) & (times < start.end)
    found = internal_resistance(volts[near], amps[near])
    text = (
        f"voltage over current, {found.explained:.0%} explained; battery and whatever lies between the two leads "
        "that measured its voltage"
    )
    both = f"{voltage.channel.name} + {name}"
    yield Finding(_NAME, "internal resistance", both, found.resistance, "ohm", found.resistance_error, text=text)


ANALYSIS = Analysis("battery", "Battery and starter", _run)
