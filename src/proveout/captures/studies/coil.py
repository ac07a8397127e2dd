"""Amplitude of a coil for its speed, and run-out as it shows in it, in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from proveout.captures.analysis.air_gap import CoilAmplitude, coil_amplitude
from proveout.captures.analysis.run_out import run_out_of_amplitude
from proveout.captures.findings import Finding, Undecided
from proveout.captures.studies.analysis_entry import Analysis, Found
from proveout.captures.study import ChannelStudy, Study
from proveout.errors import InputError

__all__ = ["ANALYSIS", "amplitude_of"]

_NAME = "coil"


def amplitude_of(channel: ChannelStudy) -> CoilAmplitude:
    """Return the amplitude of a coil's signal for its speed.

    Raises
    ------
    InputError
        If no wheel was found, or too few teeth have a swing.
    """
    fit, grid = channel.wheel, channel.grid
    slow = grid.slowness()
    known = fit.place >= 0
    speed = np.full(fit.times.size, np.nan)
    speed[known] = 1 / slow[fit.turn[known], fit.place[known]]
    places = max(grid.wheel.slots, grid.wheel.teeth)
    return coil_amplitude(channel.swings, speed * places, fit.place, grid.wheel.teeth)


def _run(study: Study) -> Iterator[Found]:
    for name, channel in study.channels.items():
        if not channel.usable or study.role(name) == "not used":
            continue
        if channel.kind.kind == "variable reluctance" and channel.toothed and channel.wheel.wheel is not None:
            try:
                yield from _amplitude(name, channel)
            except InputError as error:
                yield Undecided(_NAME, name, str(error))


def _amplitude(name: str, channel: ChannelStudy) -> Iterator[Found]:
    found, unit = amplitude_of(channel), channel.channel.unit
    text = f"peak to peak at {found.frequency:.0f} teeth/s; it grows with speed to the power {found.exponent:.2f}"
    yield Finding(_NAME, "amplitude", name, found.swing, unit, found.uncertainty, text=text)
    if found.exponent_uncertainty > 0:
        yield Finding(_NAME, "growth with speed", name, found.exponent, "1", found.exponent_uncertainty)
    if found.weak is None:
        reason = "whether the amplitude is weak: its speed is too far from cranking to compare with usual values"
        yield Undecided(_NAME, name, reason)
    elif found.weak:
        text = "weaker than usual for its speed: a wide gap, a shorted coil, a loaded or corroded line"
        yield Finding(_NAME, "weak amplitude", name, found.swing, unit, found.uncertainty, text=text)
    seen = np.isfinite(found.teeth) & (found.teeth > 0)
    if np.count_nonzero(seen) >= 4:
        angles = np.asarray(channel.grid.wheel.angles)[seen]
        out = run_out_of_amplitude(angles, found.teeth[seen], found.teeth_uncertainty)
        text = (
            f"eccentricity in pitches of the teeth, highest {360 * out.high:.0f}° after the gap, by the amplitude alone"
        )
        yield Finding(_NAME, "run-out", name, out.eccentricity, "1", out.uncertainty, text=text)


ANALYSIS = Analysis("coil", "Amplitude of a coil", _run)
