"""Battery and starter: rest, in-rush, cranking plateau, compression ripple, internal resistance.

A battery on a starter is taken for a source behind a resistance, ``u = e - r i``; r and e follow by least squares of
voltage over current, with an uncertainty that allows for residuals that are alike from one sample to the next.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from proveout.errors import InputError

__all__ = ["Cranking", "Resistance", "compressions", "find_cranking", "internal_resistance"]

Floats = NDArray[np.float64]

_LEAST_DROP = 0.4
"""Least drop of the voltage that is taken for a start [V] (common practice: a starter takes 1 to 3 V off)."""

_IN_RUSH = 0.15
"""Time after the onset within which the starter is still spinning up [s] (common practice)."""

_SETTLED = 0.3
"""Time after the onset from which the plateau is taken [s] (common practice)."""

_AVERAGED = 0.02
_HELD = 0.2


@dataclass(frozen=True)
class Cranking:
    """One start in a record of the battery's voltage; voltages [V], times [s].

    Attributes
    ----------
    onset, end : float
        When the starter is switched on, and when the voltage recovers (the end of the record if it does not).
    recovered : bool
        Whether it does within the record.
    resting, resting_error : float
        Median before the onset and its standard uncertainty; NaN where the record begins too late.
    lowest, lowest_time : float
        Least voltage of the in-rush.
    plateau, plateau_error : float
        Mean while the engine turns over, NaN where that is too short.
    running : float
        Median over the last part after the recovery; NaN where there is none.
    """

    onset: float
    end: float
    recovered: bool
    resting: float
    resting_error: float
    lowest: float
    lowest_time: float
    plateau: float
    plateau_error: float
    running: float


@dataclass(frozen=True)
class Resistance:
    """Source and resistance from voltage over current.

    Attributes
    ----------
    resistance, resistance_error : float
        [ohm]; standard uncertainty.
    source : float
        Voltage at no current [V].
    explained : float
        Share of the variance of the voltage that the straight line explains, 0 to 1.
    """

    resistance: float
    resistance_error: float
    source: float
    explained: float


def find_cranking(times: Floats, voltage: Floats) -> Cranking:
    """Return the start in a record.

    Parameters
    ----------
    times : (sample,) float64 [s]
        Evenly spaced, about a thousand a second or fewer.
    voltage : (sample,) float64 [V]

    Raises
    ------
    InputError
        If the voltage never drops as a starter makes it drop.
    """
    if times.size < 20:
        raise InputError(f"{times.size} values are too few to find a start in; at least 20 are needed")
    step = float(times[1] - times[0])
    lowest = int(np.argmin(voltage))
    before = float(np.median(voltage[: max(lowest // 2, 1)])) if lowest > 3 else float(voltage[0])
    drop = before - float(voltage[lowest])
    if not drop >= _LEAST_DROP:
        raise InputError(
            f"the voltage drops by {max(drop, 0.0):.2f} V at most before its lowest point; a start would pull it down "
            f"by more than {_LEAST_DROP} V, unless the record begins with the starter on"
        )
    high = np.flatnonzero(voltage[:lowest] > before - drop / 4)
    onset = int(high[-1]) + 1 if high.size else lowest
    end = _recovery(voltage, onset, lowest, before, max(int(_HELD / step), 1))
    rest = voltage[: max(onset - int(_AVERAGED / step) - 1, 0)]
    plateau = voltage[min(onset + int(_SETTLED / step), end) : end]
    after = voltage[end + int(_SETTLED / step) :]
    return Cranking(
        onset=float(times[onset]),
        end=float(times[min(end, times.size - 1)]),
        recovered=end < times.size,
        resting=float(np.median(rest)) if rest.size else float("nan"),
        resting_error=_error_of_mean(rest),
        lowest=float(voltage[lowest]),
        lowest_time=float(times[lowest]),
        plateau=float(plateau.mean()) if plateau.size * step >= _HELD else float("nan"),
        plateau_error=_error_of_mean(plateau),
        running=float(np.median(after)) if after.size else float("nan"),
    )


def _recovery(voltage: Floats, onset: int, lowest: int, before: float, held: int) -> int:
    """Return where the voltage begins to stay above the middle of plateau and rest, or the number of samples."""
    middle = (float(np.median(voltage[lowest : lowest + 5 * held])) + before) / 2
    above = voltage[lowest:] > middle
    runs = np.convolve(above, np.ones(held), "valid") >= held - 0.5
    found = np.flatnonzero(runs)
    return lowest + int(found[0]) if found.size else voltage.size


def _error_of_mean(values: Floats) -> float:
    """Return the standard uncertainty of a mean of values that are alike from one to the next."""
    if values.size < 4:
        return float("nan")
    return float(np.std(values, ddof=1)) / _independent(values - values.mean()) ** 0.5


def _independent(rest: Floats) -> float:
    """Return how many independent values so many correlated ones are worth (first-order autoregression)."""
    power = float(rest @ rest)
    alike = float(np.clip(rest[1:] @ rest[:-1] / power, 0.0, 1 - 1e-9)) if power > 0 else 0.0
    return max(rest.size * (1 - alike) / (1 + alike), 2.0)


def internal_resistance(voltage: Floats, current: Floats) -> Resistance:
    """Return source voltage and resistance from samples of voltage and current taken together.

    Parameters
    ----------
    voltage : (sample,) float64 [V]
    current : (sample,) float64 [A]
        Drawn from the battery; either sign, since a clamp may sit either way round.

    Raises
    ------
    InputError
        If there are fewer than ten samples or the current hardly changes.
    """
    if voltage.size < 10:
        raise InputError(f"{voltage.size} samples are too few for a resistance; at least 10 are needed")
    drawn = current * np.sign(current[np.argmax(np.abs(current))])
    away = drawn - drawn.mean()
    spread = float(away @ away)
    if spread <= 1e-12 * drawn.size * max(float(np.abs(drawn).max()) ** 2, 1e-30):
        raise InputError("the current does not change, so no resistance follows from it")
    slope = float(away @ (voltage - voltage.mean())) / spread
    rest = voltage - voltage.mean() - slope * away
    total = float(np.sum((voltage - voltage.mean()) ** 2))
    scatter = float(rest @ rest) / (voltage.size - 2)
    error = (scatter / spread * voltage.size / _independent(rest)) ** 0.5
    source = float(voltage.mean() - slope * drawn.mean())
    return Resistance(-slope, error, source, 1 - float(rest @ rest) / total if total > 0 else 0.0)


def compressions(times: Floats, voltage: Floats) -> Floats:
    """Return the times [s] of the compressions in the plateau: where the voltage is least, (compression,).

    The slow part is taken off by a zero-phase high pass of 1 Hz (Butterworth of second order, run both ways), and a dip
    counts when it is at least a third as deep as most.

    Parameters
    ----------
    times : (sample,) float64 [s]
        Evenly spaced, of the plateau alone.
    voltage : (sample,) float64 [V]
    """
    step = float(times[1] - times[0]) if times.size > 1 else 1.0
    if times.size * step < 2 * _HELD:
        return np.empty(0)
    rate = 1 / step
    swing = signal.sosfiltfilt(signal.butter(2, 1.0, "high", fs=rate, output="sos"), -voltage)
    if rate > 200:
        swing = signal.sosfiltfilt(signal.butter(2, 60.0, "low", fs=rate, output="sos"), swing)
    depth = float(np.percentile(swing, 95) - np.percentile(swing, 5))
    peaks, found = signal.find_peaks(swing, prominence=depth / 4, distance=max(int(0.02 * rate), 1))
    if peaks.size < 3:
        return np.empty(0)
    deep = found["prominences"] >= float(np.median(found["prominences"])) / 3
    return times[peaks[deep]]
