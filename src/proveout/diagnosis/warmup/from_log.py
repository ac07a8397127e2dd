"""A drive for the warm-up fit from a log of standard parameters: one clock, and what the log lacks said."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.warmup.drive import STEP, Drive
from proveout.errors import InputError
from proveout.scan import Log, Series

__all__ = ["KINDS", "DriveKind", "drive_of"]

Array = NDArray[np.float64]

ZERO_CELSIUS = 273.15
GAS_CONSTANT = 287.05  # J/(kg K), dry air
SWEPT, FILLING = 1.5e-3, 0.85  # m3 and share of a middling engine, from memory; the fit finds the scale
RUNNING = 300.0  # rpm


@dataclass(frozen=True)
class DriveKind:
    """Means of a kind of drive where the log has no engine data: air [kg/s], speed [rev/s], road [m/s]; from memory."""

    title: str
    air: float
    speed: float
    road: float


KINDS = {
    "idle": DriveKind("standing at idle", 3.5e-3, 13.5, 0.0),
    "town": DriveKind("town traffic", 8.0e-3, 25.0, 7.0),
    "road": DriveKind("country road", 13.0e-3, 33.0, 19.0),
}


def drive_of(log: Log, kind: str = "") -> Drive:
    """Return the drive that a log holds, from the moment the engine runs.

    Parameters
    ----------
    log : Log
    kind : str
        A key of `KINDS`, for typed points or a log without engine data.

    Raises
    ------
    InputError
        If the temperatures cannot be right, or the log lacks coolant or ambient temperature, or says nothing of the
        engine and `kind` does neither.
    """
    wrong = [doubt for doubt in log.doubts if doubt.parameter == "coolant" and doubt.kind != "jump"]
    if wrong:
        raise InputError(wrong[0].text)
    coolant = log.wanted("coolant")
    start = _started(log, coolant)
    clock = np.arange(start, log.duration + 0.5 * STEP, STEP)
    notes = list[str]()
    air, speed = _engine(log, clock, kind, notes)
    fitted = _coolant(coolant, clock)
    resumed = _blank_gaps(log, clock, fitted)
    return Drive(
        coolant=fitted + ZERO_CELSIUS,
        air=air,
        speed=speed,
        pedal=_pedal(log, clock),
        road=_road(log, clock, kind, notes),
        ambient=_ambient(log, clock, notes) + ZERO_CELSIUS,
        resumed=resumed,
        notes=(*log.notes, *notes),
    )


def _started(log: Log, coolant: Series) -> float:
    """Return the time from which the engine runs and the coolant temperature is logged."""
    first = float(coolant.times[0])
    if "engine_speed" not in log.series:
        return first
    speed = log.series["engine_speed"]
    running = speed.times[speed.values > RUNNING]
    if running.size == 0:
        raise InputError("the engine never runs in this log; a warm-up is needed")
    return max(first, float(running[0]))


def _coolant(series: Series, clock: Array) -> Array:
    """Return the coolant temperature on the clock, NaN where no sample is near: it is not made up between points."""
    near = np.searchsorted(series.times, clock, side="right") - 1
    age = clock - series.times[np.maximum(near, 0)]
    usual = float(np.median(np.diff(series.times))) if series.times.size > 1 else np.inf
    fresh = (near >= 0) & (age < (STEP if usual > STEP else max(5.0 * STEP, 3.0 * usual)))
    return np.where(fresh, series.values[np.maximum(near, 0)], np.nan)


def _blank_gaps(log: Log, clock: Array, coolant: Array) -> tuple[int, ...]:
    """Take out what stands in gaps; return the rows at which the log goes on."""
    resumed = []
    for gap in log.gaps:
        coolant[(clock > gap.start) & (clock < gap.end)] = np.nan
        after = np.flatnonzero((clock >= gap.end) & np.isfinite(coolant))
        if after.size and gap.start > clock[0]:
            resumed.append(int(after[0]))
    return tuple(resumed)


def _engine(log: Log, clock: Array, kind: str, notes: list[str]) -> tuple[Array, Array]:
    """Return air [kg/s] and speed [rev/s]: measured, or from manifold pressure or load, or those of a kind of drive."""
    if "engine_speed" not in log.series:
        return _supposed(clock, kind, notes)
    speed = log.series["engine_speed"].at(clock) / 60.0
    if "air_flow" in log.series:
        return log.series["air_flow"].at(clock), speed
    swept = 0.5 * SWEPT * FILLING * speed
    if "manifold_pressure" in log.series:
        intake = log.series["intake_air"].at(clock) if "intake_air" in log.series else np.full(clock.size, 25.0)
        notes.append("air flow is not logged: it is worked out from manifold pressure and engine speed")
        return swept * log.series["manifold_pressure"].at(clock) / (GAS_CONSTANT * (intake + ZERO_CELSIUS)), speed
    if "load" in log.series:
        notes.append("air flow is not logged: it is worked out from the calculated load and engine speed")
        return swept * 1.2 * log.series["load"].at(clock) / 100.0, speed
    notes.append("neither air flow, manifold pressure nor load is logged: the engine's heat is known by speed alone")
    return swept * 0.4, speed


def _supposed(clock: Array, kind: str, notes: list[str]) -> tuple[Array, Array]:
    if kind not in KINDS:
        choices = ", ".join(f"{name} ({k.title})" for name, k in KINDS.items())
        raise InputError(
            f"the trace says nothing of the engine, and the drive's kind is '{kind}'; say one of {choices}"
        )
    chosen = KINDS[kind]
    notes.append(f"no engine data: supposed is {chosen.title}, the same all the time")
    return np.full(clock.size, chosen.air), np.full(clock.size, chosen.speed)


def _pedal(log: Log, clock: Array) -> Array:
    if "pedal" not in log.series:
        return np.zeros(clock.size)
    percent = log.series["pedal"].at(clock)
    rest = float(log.series["pedal"].values.min())
    return np.clip((percent - rest) / max(100.0 - rest, 1.0), 0.0, 1.0)


def _road(log: Log, clock: Array, kind: str, notes: list[str]) -> Array:
    if "road_speed" in log.series:
        return log.series["road_speed"].at(clock)
    notes.append("vehicle speed is not logged: what the wind takes is known less well")
    return np.full(clock.size, KINDS[kind].road if kind in KINDS else KINDS["town"].road)


def _ambient(log: Log, clock: Array, notes: list[str]) -> Array:
    if "ambient" in log.series:
        return log.series["ambient"].at(clock)
    if "intake_air" in log.series:
        least = float(log.series["intake_air"].values.min())
        notes.append(f"ambient temperature is not logged: the lowest intake air temperature, {least:.0f} °C, is taken")
        return np.full(clock.size, least)
    raise InputError("the log has neither ambient nor intake air temperature; say how cold it was outside")
