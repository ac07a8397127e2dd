"""A recorded channel as a scope would be read: low and high level, swing, mean, and whether the signal was lost."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from proveout.captures.findings import CaptureFindings
from proveout.errors import InputError

__all__ = ["Level", "TraceLevels", "at_rate", "trace_levels"]

GAIN = 0.03
"""Limit of a recorder's error of gain, a share of the value (common practice: three per cent of a hand-held scope)."""
OFFSET = 0.01
"""Limit of its error of zero, a share of the largest value recorded (from memory)."""
COIL = "variable reluctance"
SWITCHED = ("on/off voltage", "two-level current", "direction-coded pulses")
WATCHED = ("lost teeth", "silences", "glitches")
"""Findings of an analysis that would have seen the signal lost."""
LOST = ("dropout", "lost tooth", "glitch")
"""Marks of a signal that was gone for a while."""


@dataclass(frozen=True)
class Level:
    """A value and its standard uncertainty, gain and zero of the recorder included, in the channel's unit."""

    value: float
    uncertainty: float


GROWTH = Level(1.0, 0.1)
"""Growth of a coil's swing with speed where the capture's speed changes too little to show it."""


@dataclass(frozen=True)
class TraceLevels:
    """One channel as levels.

    Attributes
    ----------
    kind : str
        Kind of signal, empty when it was not decided.
    low, high, swing, mean : Level
        Of a signal that does not move low, high and mean are the same and the swing is 0 within the noise.
    lost : int
        Times that the signal was gone while it should have been there.
    watched : bool
        Whether a loss would have been seen: the signal switches or alternates, and its teeth were followed.
    while_lost : Level or None
        Where the signal stood then; None where it did not stand still, or was never lost.
    tooth_rate : float or None
        Teeth a second to which the swing belongs [1/s]; None where it is not known.
    growth : Level
        Exponent with which a coil's swing grows with speed.
    """

    kind: str
    low: Level
    high: Level
    swing: Level
    mean: Level
    lost: int
    watched: bool
    while_lost: Level | None = None
    tooth_rate: float | None = None
    growth: Level = GROWTH

    @property
    def moves(self) -> bool:
        """Whether the signal switches or alternates at all."""
        return self.kind not in ("dead", "noise only")


def trace_levels(findings: CaptureFindings, channel: str) -> TraceLevels:
    """Return the levels of a channel from what was found in its capture.

    Raises
    ------
    InputError
        If the findings have no such channel, or no level of it.
    """
    if channel not in {f.channel for f in findings.findings}:
        names = ", ".join(sorted({f"'{f.channel}'" for f in findings.findings if " + " not in f.channel}))
        raise InputError(f"nothing was found in a channel '{channel}'; the capture has {names or 'no usable channel'}")
    kind = next((f.word for f in findings.of("kind of signal", channel)), "")
    noise = _value(findings, channel, "noise") or 0.0
    step = _value(findings, channel, "resolution") or 0.0
    low, high = _ends(findings, channel, kind)
    size = max(abs(low[0]), abs(high[0]))
    floor = math.hypot(step / math.sqrt(12.0), OFFSET * size / math.sqrt(3.0))
    mean = _value(findings, channel, "mean")
    still = kind in ("dead", "noise only")
    if still:
        low = high = (mean if mean is not None else 0.5 * (low[0] + high[0]), noise)
    stood = _value(findings, channel, "level while lost")
    middle = mean if mean is not None else _weighted(findings, channel, low[0], high[0])
    return TraceLevels(
        kind,
        _level(low, floor),
        _level(high, floor),
        _swing(findings, channel, low, high, noise, still=still),
        _level((middle, noise), floor),
        sum(1 for mark in findings.marks if mark.channel == channel and mark.kind in LOST),
        not still and any(any(findings.of(name, channel)) for name in WATCHED),
        None if stood is None else _level((stood, noise), floor),
        _tooth_rate(findings, channel),
        _growth(findings, channel),
    )


def at_rate(swing: Level, levels: TraceLevels, wanted: float | None) -> Level:
    """Return the swing of a coil as it would be at another rate of its teeth [1/s]; of other signals as it is."""
    if levels.kind != COIL or not wanted or not levels.tooth_rate:
        return swing
    step = math.log(wanted / levels.tooth_rate)
    value = swing.value * math.exp(levels.growth.value * step)
    relative = math.hypot(swing.uncertainty / max(swing.value, 1e-12), levels.growth.uncertainty * step)
    return Level(value, value * relative)


def _tooth_rate(findings: CaptureFindings, channel: str) -> float | None:
    """Return the rate of the teeth: at the mean speed of a wheel, else the fastest, where the swing is widest."""
    fastest = _value(findings, channel, "fastest tooth rate")
    speed = _value(findings, channel, "mean speed")
    wheel = next((w for w in findings.wheels if w.channel == channel and len(w.angles) > 1), None)
    if speed is None or wheel is None:
        return fastest
    return speed / sorted(b - a for a, b in pairwise(wheel.angles))[(len(wheel.angles) - 1) // 2]


def _growth(findings: CaptureFindings, channel: str) -> Level:
    shown = next((f for f in findings.of("growth with speed", channel) if f.value is not None), None)
    return GROWTH if shown is None or shown.value is None else Level(shown.value, shown.uncertainty or 0.1)


def _value(findings: CaptureFindings, channel: str, name: str) -> float | None:
    return next((f.value for f in findings.of(name, channel) if f.value is not None), None)


def _ends(findings: CaptureFindings, channel: str, kind: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return low and high, each with its own uncertainty: the levels of a switched signal, else least and greatest."""
    names = ("low level", "high level") if kind in SWITCHED else ("least value", "greatest value")
    noise = _value(findings, channel, "noise") or 0.0
    found = []
    for name in names:
        finding = next((f for f in findings.of(name, channel) if f.value is not None), None)
        if finding is None or finding.value is None:
            raise InputError(f"the capture shows no {name} of channel '{channel}'; attach one that does")
        # Least and greatest lie several deviations of the noise outside the signal.
        found.append((finding.value, finding.uncertainty if finding.uncertainty is not None else 3.0 * noise))
    return found[0], found[1]


def _weighted(findings: CaptureFindings, channel: str, low: float, high: float) -> float:
    duty = _value(findings, channel, "duty")
    return low + (high - low) * (0.5 if duty is None else duty)


def _level(end: tuple[float, float], floor: float) -> Level:
    return Level(end[0], math.hypot(math.hypot(end[1], floor), GAIN * end[0] / math.sqrt(3.0)))


def _swing(
    findings: CaptureFindings,
    channel: str,
    low: tuple[float, float],
    high: tuple[float, float],
    noise: float,
    *,
    still: bool,
) -> Level:
    """Return the swing, in which the error of zero cancels."""
    amplitude = next(findings.of("amplitude", channel), None)
    if still:
        return Level(0.0, 2.0 * noise)
    if amplitude is not None and amplitude.value is not None:
        value, own = amplitude.value, amplitude.uncertainty or 0.0
    else:
        value, own = high[0] - low[0], math.hypot(low[1], high[1])
    return Level(value, math.hypot(own, GAIN * value / math.sqrt(3.0)))
