"""Run-out of a wheel: how far its rim comes and goes in a turn, and how far its centre is off the axis.

Circular radial run-out is the largest less the smallest indication over one turn (ISO 1101, circular run-out: the zone
between two circles about the axis; from memory). The eccentricity is the first order of the indications,
``a = 2/n sum r cos``, ``b = 2/n sum r sin`` (least-squares circle); an eccentric perfect circle runs out by twice it.

Two ways to see it without a dial gauge: the spacing error of first order of a wheel off its centre by e is ``e / R`` in
radians at pitch radius R; and a coil's amplitude falls with the gap as ``exp(-2 pi gap / pitch)`` (`air_gap`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.tooth_spacing import ToothSpacing
from proveout.errors import InputError

__all__ = ["RunOut", "run_out", "run_out_of_amplitude", "run_out_of_spacing"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class RunOut:
    """How a rim runs, in the unit of the indications.

    Attributes
    ----------
    total : float
        Largest less smallest indication.
    eccentricity : float
        Amplitude of the first order.
    uncertainty : float
        Standard uncertainty of the eccentricity; NaN when not known.
    high : float
        Angle at which the first order is highest [turns].
    form : float
        What is left of `total` without the first order.
    """

    total: float
    eccentricity: float
    uncertainty: float
    high: float
    form: float


def run_out(angles: Array, indications: Array, uncertainty: float = float("nan")) -> RunOut:
    """Return the run-out of indications over one turn.

    Parameters
    ----------
    angles : (n,) float
        [turns]; need not be even.
    indications : (n,) float
        Any unit; larger is farther out.
    uncertainty : float, optional
        Standard uncertainty of one indication.

    Raises
    ------
    InputError
        If there are fewer than four indications.
    """
    if angles.size < 4:
        raise InputError(f"{angles.size} indications are too few for a run-out; take at least 4 over the turn")
    wave = 2.0 * np.pi * angles
    basis = np.column_stack([np.ones(angles.size), np.cos(wave), np.sin(wave)])
    found = np.linalg.lstsq(basis, indications, rcond=None)[0]
    rest = indications - basis @ found
    amplitude = float(np.hypot(found[1], found[2]))
    high = float(np.arctan2(found[2], found[1]) / (2.0 * np.pi) % 1.0)
    spread = uncertainty * float(np.sqrt(np.linalg.inv(basis.T @ basis)[1:, 1:].trace() / 2.0))
    return RunOut(float(np.ptp(indications)), amplitude, spread, high, float(np.ptp(rest)))


def run_out_of_spacing(angles: Array, spacing: ToothSpacing) -> RunOut:
    """Return the run-out that spacing errors amount to, as a share of the pitch radius.

    Parameters
    ----------
    angles : (place,) float
        [turns].
    spacing : ToothSpacing
        From a coast-down: in one capture at one speed the first order is confounded with ripple.

    Raises
    ------
    InputError
        If the first order is confounded.
    """
    if not spacing.learnt or spacing.orders > 0:
        raise InputError(f"the first order of the spacing is not known: {spacing.reason}; take it from a coast-down")
    # A rim farther out by e moves its teeth on by e / R sin: the indication lags the error by a quarter turn.
    lagging = run_out(angles, 2.0 * np.pi * spacing.errors, 2.0 * np.pi * float(np.mean(spacing.uncertainty)))
    return RunOut(
        2.0 * lagging.eccentricity, lagging.eccentricity, lagging.uncertainty, (lagging.high + 0.25) % 1.0, 0.0
    )


def run_out_of_amplitude(angles: Array, amplitude: Array, uncertainty: float = float("nan")) -> RunOut:
    """Return the run-out that a coil's amplitudes over one turn amount to, in pitches of the teeth.

    Parameters
    ----------
    angles : (place,) float
        [turns].
    amplitude : (place,) float
        Of each tooth at the same speed, any unit, positive.
    uncertainty : float, optional
        Relative standard uncertainty of one amplitude.
    """
    return run_out(angles, np.log(amplitude) / (2.0 * np.pi), uncertainty / (2.0 * np.pi))
