"""Where the cam's edges stand against the crankshaft, and whether they have jumped since a known-good capture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.turn_grid import TurnGrid
from proveout.captures.analysis.wheel import WheelFit
from proveout.errors import InputError

__all__ = ["CamPhase", "PhaseShift", "cam_phase", "phase_shift"]

Array = NDArray[np.float64]
CYCLE = 720.0
LEAST_SEEN = 3


@dataclass(frozen=True)
class CamPhase:
    """Angle of each cam edge in crank degrees after the crank wheel's first edge after its gap.

    Attributes
    ----------
    place : (edge,) int64
        Index of the cam edge within the cam's turn.
    angle : (edge,) float64
        Mean [crank degrees, 0 to 720]; which of the two crank turns is the first is arbitrary.
    uncertainty : (edge,) float64
        Standard uncertainty of the mean [crank degrees].
    scatter : (edge,) float64
        Standard deviation from cycle to cycle [crank degrees].
    cycles : int
    """

    place: NDArray[np.int64]
    angle: Array
    uncertainty: Array
    scatter: Array
    cycles: int


@dataclass(frozen=True)
class PhaseShift:
    """How far the cam has moved against the crank since a reference capture.

    Attributes
    ----------
    shift, uncertainty : float
        Later is positive [crank degrees], common to all cam edges.
    unlike : float
        Largest departure of one edge from the common shift [crank degrees]: a bent or slipped target.
    teeth : float or None
        `shift` in teeth of the drive on the crankshaft; None when its number of teeth is not known.
    jumped : bool or None
        Whether it is a whole number of teeth, not zero, within four uncertainties or a quarter of a tooth; None when
        that cannot be told.
    reason : str
    """

    shift: float
    uncertainty: float
    unlike: float
    teeth: float | None
    jumped: bool | None
    reason: str


def cam_phase(crank: TurnGrid, cam: WheelFit) -> CamPhase:
    """Return the phase of a cam's edges.

    Parameters
    ----------
    crank : TurnGrid
        Of a wheel on the crankshaft.
    cam : WheelFit
        Of a wheel on a camshaft, which turns once in two turns of the crank.

    Raises
    ------
    InputError
        If no cam wheel was found, or hardly any of its edges fall within the crank's record.
    """
    if cam.wheel is None:
        raise InputError(f"there is no cam wheel to compare: {cam.reason}")
    seen = crank.seen.ravel()
    times, angles = crank.times.ravel()[seen], crank.turn_angles.ravel()[seen]
    inside = (cam.place >= 0) & (cam.times >= times[0]) & (cam.times <= times[-1])
    if np.count_nonzero(inside) < LEAST_SEEN:
        raise InputError(f"{np.count_nonzero(inside)} cam edges lie within the crank's record; record both longer")
    degrees = 360.0 * np.interp(cam.times[inside], times, angles)
    place = cam.place[inside]
    found = [_circular(degrees[place == k]) for k in np.unique(place)]
    angle, scatter, count = (np.array(column, dtype=float) for column in zip(*found, strict=True))
    spread = np.where(count > 1, scatter, np.nan)
    return CamPhase(np.unique(place), angle, spread / np.sqrt(count), spread, int(count.max()))


def phase_shift(now: CamPhase, reference: CamPhase, drive_teeth: int | None = None) -> PhaseShift:
    """Return how far the cam has moved since a known-good capture of the same engine.

    Parameters
    ----------
    now, reference : CamPhase
    drive_teeth : int, optional
        Teeth of the sprocket or pulley on the crankshaft: a jump of one tooth is 360 degrees over it.

    Raises
    ------
    InputError
        If the two captures have no cam edge in common.
    """
    common, a, b = np.intersect1d(now.place, reference.place, return_indices=True)
    if common.size == 0:
        raise InputError("the two captures have no cam edge in common: was the same cam recorded?")
    away = now.angle[a] - reference.angle[b]
    # Which crank turn came first is arbitrary in each capture, so the shift is known within one crank turn.
    shift = _wrapped(np.median(_wrapped(away - away[0], 360.0)) + away[0], 360.0)
    each = np.hypot(now.uncertainty[a], reference.uncertainty[b])
    unsure = float(np.sqrt(np.nansum(each**2)) / max(np.count_nonzero(np.isfinite(each)), 1))
    unlike = float(np.max(np.abs(_wrapped(away - shift, 360.0))))
    if drive_teeth is None:
        why = "the teeth of the drive on the crankshaft are not known; one tooth is often 15 to 20 crank degrees"
        return PhaseShift(float(shift), unsure, unlike, None, None, why)
    teeth = float(shift) * drive_teeth / 360.0
    near = abs(teeth - round(teeth)) < max(4.0 * unsure * drive_teeth / 360.0, 0.25)
    jumped = bool(round(teeth) != 0 and near)
    why = "" if near else "the shift is no whole number of teeth: a cam phaser, a stretched chain or another engine"
    return PhaseShift(float(shift), unsure, unlike, teeth, jumped, why)


def _circular(degrees: Array) -> tuple[float, float, int]:
    """Return mean within the cycle, standard deviation and count of angles that repeat every cycle."""
    turn = np.exp(2j * np.pi * degrees / CYCLE)
    mean = float(np.angle(turn.mean()) * CYCLE / (2.0 * np.pi) % CYCLE)
    away = _wrapped(degrees - mean, CYCLE)
    return mean, float(np.std(away, ddof=1)) if degrees.size > 1 else 0.0, degrees.size


def _wrapped(degrees: Array | float, period: float) -> Array:
    return np.asarray((np.asarray(degrees) + period / 2.0) % period - period / 2.0)
