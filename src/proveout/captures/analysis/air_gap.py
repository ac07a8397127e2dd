"""Amplitude of a variable-reluctance sensor against speed and air gap.

The voltage of a coil is the rate of change of its flux: its swing grows with the speed, ``A = k f`` at low speed (f:
teeth per second), and more slowly where the coil's inductance and the load come in. The flux of teeth of pitch p falls
with the gap g as ``exp(-2 pi g / p)``: the spacing loss of magnetic recording, 54.6 dB per wavelength (Wallace, Bell
System Technical Journal 30, 1951, from memory), here for a toothed wheel. So

    ln A = c[tooth] + b ln f,    c = c0 - 2 pi g / p

and between two captures at the same place ``g2 - g1 = p / (2 pi) (c1 - c2)``. Anything that scales the whole signal, a
series resistance before a loaded input, a shorted winding, a weak magnet, looks like a gap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.errors import InputError

__all__ = ["WEAK_CRANKING", "CoilAmplitude", "GapChange", "coil_amplitude", "gap_change"]

Array = NDArray[np.float64]
WEAK_CRANKING = 0.05
"""Swing below which a coil is weak at cranking speed [V].

50 to 300 mV peak to peak is usual (a secondary page on variable-reluctance sensors).
"""
CRANKING_TEETH = 200.0
"""Teeth per second of a 60-tooth wheel at 200 rpm, to which that figure is taken to belong [1/s] (common practice)."""
LEAST_RATIO = 1.3
"""Speed ratio below which the exponent is not fitted but taken as 1."""
SAME = "a series resistance before a loaded input, a shorted winding or a weak magnet would look the same"


@dataclass(frozen=True)
class CoilAmplitude:
    """How large a coil's signal is for its speed.

    Attributes
    ----------
    swing, uncertainty : float
        Peak-to-peak swing at `frequency` and its standard uncertainty [V].
    frequency : float
        Teeth per second that `swing` is given for: the geometric mean of the capture [1/s].
    exponent, exponent_uncertainty : float
        Growth of ln swing with ln speed: 1 for a coil that nothing loads; uncertainty 0 when it was taken, not fitted.
    teeth : (place,) float64
        Swing of each tooth over the mean of all, at the same speed.
    teeth_uncertainty : float
        Relative standard uncertainty of one of them.
    weak : bool or None
        Whether it is weaker than usual for its speed; None where its speed is too far from cranking to say.
    """

    swing: float
    uncertainty: float
    frequency: float
    exponent: float
    exponent_uncertainty: float
    teeth: Array
    teeth_uncertainty: float
    weak: bool | None


@dataclass(frozen=True)
class GapChange:
    """How much farther away the teeth are than in a reference capture, if the gap is what changed.

    `pitches` and its standard uncertainty are in pitches of the teeth; `reason` says what else looks the same.
    """

    pitches: float
    uncertainty: float
    reason: str = SAME

    def length(self, pitch: float) -> float:
        """Return the change [m] for a pitch [m] along the rim (circumference over the number of places)."""
        return self.pitches * pitch


def coil_amplitude(swing: Array, frequency: Array, place: NDArray[np.int64], teeth: int) -> CoilAmplitude:
    """Fit the swing of a coil's signal against speed, tooth by tooth.

    Parameters
    ----------
    swing : (edge,) float
        Peak-to-peak swing at each edge [V]; NaN where unknown.
    frequency : (edge,) float
        Speed there, as teeth per second of an evenly cut wheel [1/s].
    place : (edge,) int
        Tooth of each edge; -1 for none.
    teeth : int

    Raises
    ------
    InputError
        If fewer than three swings are known.
    """
    known = (swing > 0) & (frequency > 0) & (place >= 0)
    if np.count_nonzero(known) < 3:
        raise InputError(f"{np.count_nonzero(known)} teeth with a swing are too few to fit an amplitude")
    height, speed, tooth = np.log(swing[known]), np.log(frequency[known]), place[known]
    middle = float(speed.mean())
    exponent, spread = _exponent(height, speed - middle, tooth, teeth)
    level = height - exponent * (speed - middle)
    count = np.bincount(tooth, minlength=teeth)
    mean = np.bincount(tooth, level, teeth) / np.maximum(count, 1)
    seen = count > 0
    free = max(level.size - int(seen.sum()) - 1, 1)
    scatter = float(np.sqrt(np.sum((level - mean[tooth]) ** 2) / free))
    whole = float(mean[seen].mean())
    at = float(np.exp(whole))
    ratio = np.where(seen, np.exp(mean - whole), np.nan)
    relative = scatter / np.sqrt(max(float(count[seen].mean()), 1.0))
    weak = _weak(at, float(np.exp(middle)), exponent)
    return CoilAmplitude(
        at, at * scatter / np.sqrt(level.size), float(np.exp(middle)), exponent, spread, ratio, relative, weak
    )


def gap_change(now: CoilAmplitude, before: CoilAmplitude) -> GapChange:
    """Return the change of gap that would explain the change of amplitude since a reference capture of the same place.

    Both amplitudes are compared at the reference's speed, by the exponent of the capture that has it fitted.
    """
    fitted = min((now, before), key=lambda a: (a.exponent_uncertainty == 0.0, a.exponent_uncertainty))
    step = np.log(before.frequency / now.frequency)
    moved = np.log(now.swing) + fitted.exponent * step
    relative = np.hypot(now.uncertainty / now.swing, before.uncertainty / before.swing)
    unsure = np.hypot(relative, max(fitted.exponent_uncertainty, 0.1 * (fitted.exponent_uncertainty == 0.0)) * step)
    return GapChange(float((np.log(before.swing) - moved) / (2.0 * np.pi)), float(unsure / (2.0 * np.pi)))


def _exponent(height: Array, speed: Array, tooth: NDArray[np.int64], teeth: int) -> tuple[float, float]:
    """Return the common slope of all teeth and its standard uncertainty; 1 and 0 where the speed hardly changes.

    A ripple that is the same in every turn tells nothing: each tooth then always passes at the same speed.
    """
    count = np.maximum(np.bincount(tooth, minlength=teeth), 1)
    x, y = (v - (np.bincount(tooth, v, teeth) / count)[tooth] for v in (speed, height))
    square = float(x @ x)
    if square <= 0.0 or np.ptp(np.percentile(x, [2.5, 97.5])) < np.log(LEAST_RATIO):
        return 1.0, 0.0
    slope = float(x @ y) / square
    rest = float(np.sum((y - slope * x) ** 2)) / max(height.size - int(np.unique(tooth).size) - 1, 1)
    return slope, float(np.sqrt(rest / square))


def _weak(swing: float, frequency: float, exponent: float) -> bool | None:
    """Return whether the swing, taken to cranking speed, is below what is usual; only within a factor of 4 of it."""
    if not 0.25 <= frequency / CRANKING_TEETH <= 4.0:
        return None
    return swing * (CRANKING_TEETH / frequency) ** exponent < WEAK_CRANKING
