"""A recorded channel as evidence: its levels are readings of a measurement, its dropouts a fault that comes and goes.

The place of a capture is the set-up and the two leads of a measurement (or the part whose current it clamps). All
measurements of the circuit at that place whose function is a level of a trace are answered by it, at most two of them:
low, high and swing have only two numbers in them.
"""

from __future__ import annotations

from collections.abc import Mapping

from proveout.captures.findings import CaptureFindings
from proveout.circuits.schema import Circuit
from proveout.diagnosis.evidence import Evidence, ReadingTaken, SignalWatched
from proveout.diagnosis.trace_levels import Level, TraceLevels, at_rate, trace_levels
from proveout.errors import InputError
from proveout.instruments import Function, Reading, describe

__all__ = ["ANSWERED", "capture_evidence", "channel_for", "levels_read"]

ANSWERED: Mapping[str, str] = {
    "scope_low": "low",
    "scope_high": "high",
    "scope_swing": "swing",
    "volts_dc": "mean",
    "amps": "mean",
    "amps_clamp": "mean",
}
"""Which level of a trace answers a function."""
BESIDE: Mapping[str, tuple[str, ...]] = {
    "scope_low": ("scope_high", "scope_swing"),
    "scope_high": ("scope_low", "scope_swing"),
    "scope_swing": ("scope_low", "scope_high"),
}
"""Functions of which the first that the circuit has at the place is answered as well."""


def channel_for(circuit: Circuit, measurement: str, units: Mapping[str, str], channel: str | None = None) -> str:
    """Return the channel of a capture that is meant.

    Parameters
    ----------
    circuit : Circuit
    measurement : str
        A measurement of the circuit.
    units : mapping
        Unit of each channel that was recorded.
    channel : str, optional
        As typed.

    Raises
    ------
    InputError
        If there is no such channel, the measurement is none that a capture answers, or several channels may be meant.
    """
    function = _answered(circuit, measurement)
    names = ", ".join(f"'{name}'" for name in units)
    if channel is not None:
        if channel not in units:
            raise InputError(f"the capture has no channel '{channel}'; it has {names}")
        return channel
    wanted = Function(function).unit
    fitting = [name for name, unit in units.items() if unit in (wanted, "")]
    if len(fitting) != 1:
        what = f"{len(fitting)} channels in {wanted}" if fitting else f"no channel in {wanted}"
        raise InputError(f"the capture has {what} among {names}: say which one with --channel")
    return fitting[0]


def levels_read(circuit: Circuit, measurement: str, levels: TraceLevels) -> dict[str, Reading]:
    """Return the readings that a trace at the place of a measurement stands for, that measurement's first.

    Raises
    ------
    InputError
        If the measurement is none that a capture answers.
    """
    _answered(circuit, measurement)
    place = circuit.measurements[measurement]
    rate = circuit.setups[place.setup].tooth_rate
    found = {measurement: _reading(place.function, levels, rate)}
    beside = {
        m.function: name
        for name, m in circuit.measurements.items()
        if (m.setup, m.red, m.black, m.through) == (place.setup, place.red, place.black, place.through)
    }
    other = next((beside[f] for f in BESIDE.get(place.function, ()) if f in beside), None)
    if other is not None:
        found[other] = _reading(circuit.measurements[other].function, levels, rate)
    return found


def capture_evidence(
    circuit: Circuit, measurement: str, channel: str, findings: CaptureFindings, *, disturbed: bool = False
) -> tuple[Evidence, ...]:
    """Return what the belief learns from a capture.

    Raises
    ------
    InputError
        If the findings have no level of the channel, or the measurement is none that a capture answers.
    """
    levels = trace_levels(findings, channel)
    evidence: list[Evidence] = [
        ReadingTaken(name, reading, disturbed) for name, reading in levels_read(circuit, measurement, levels).items()
    ]
    if levels.watched:
        evidence.append(SignalWatched(measurement, levels.lost, disturbed, _while_lost(circuit, measurement, levels)))
    return tuple(evidence)


def _while_lost(circuit: Circuit, measurement: str, levels: TraceLevels) -> Reading | None:
    """Return where a switching signal stood while it was lost, for a measurement of one of its levels."""
    if levels.while_lost is None or circuit.measurements[measurement].function not in BESIDE:
        return None
    value = levels.while_lost.value
    return Reading(value, False, describe(Function.SCOPE_LOW, value), "V", uncertainty=levels.while_lost.uncertainty)


def _answered(circuit: Circuit, measurement: str) -> str:
    function = circuit.measurements[measurement].function
    if function not in ANSWERED:
        raise InputError(
            f"'{measurement}' is a measurement of {function}, which no capture answers; it answers "
            f"{', '.join(ANSWERED)}: 'proveout steps' lists the measurements"
        )
    return function


def _reading(function: str, levels: TraceLevels, rate: float | None) -> Reading:
    level: Level = getattr(levels, ANSWERED[function])
    named = Function(function)
    if named is Function.SCOPE_SWING:
        level = at_rate(level, levels, rate)
    value = max(level.value, 0.0) if named is Function.SCOPE_SWING else level.value
    return Reading(value, False, describe(named, value), named.unit, uncertainty=level.uncertainty)
