"""Teeth that are not like the others: displaced, worn or chipped, missing turn after turn, or one too many."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.tooth_spacing import ToothSpacing
from proveout.captures.analysis.turn_grid import TurnGrid
from proveout.captures.analysis.wheel import WheelFit

__all__ = ["OddTooth", "displaced_teeth", "extra_teeth", "missing_teeth", "weak_teeth"]

Array = NDArray[np.float64]
Kind = Literal["displaced", "weak", "missing", "extra"]
OUTLIER = 6.0
"""Robust standard deviations of the other teeth beyond which a tooth is no longer one of them."""
LEAST_MOVE = 0.03
"""Displacement below which a tooth is within what wheels are cut to [pitches] (common practice: 1 to 2 %)."""
LEAST_LOSS = 0.15
"""Loss of amplitude against its neighbours below which a tooth is not called weak."""
EVERY_TURN = 0.8
"""Share of the turns in which a tooth must be lost, or an extra edge seen, to be the wheel's and not a dropout."""
NEIGHBOURS = 4
SAME_PLACE = 0.25  # how close an extra edge must come back to its place, in pitches
LEAST_TURNS = 4


@dataclass(frozen=True)
class OddTooth:
    """One tooth that is not like the others.

    Attributes
    ----------
    kind : str
        `displaced` (late by `size` pitches), `weak` (its swing is short by the share `size`), `missing` or `extra` (in
        the share `size` of the turns).
    place : int
        Index of the tooth after the gap; for an extra one, of the tooth before it.
    angle : float
        From the first edge after the gap [turns]; of a wheel without a gap from an unknown start.
    size : float
    uncertainty : float
        Standard uncertainty of `size`.
    """

    kind: Kind
    place: int
    angle: float
    size: float
    uncertainty: float


def displaced_teeth(angles: Array, spacing: ToothSpacing) -> tuple[OddTooth, ...]:
    """Return teeth that stand off their place far more than the others do.

    A single displacement d shows in the learnt errors as ``share d``, and less in the teeth around it.

    Parameters
    ----------
    angles : (place,) float
        [turns].
    spacing : ToothSpacing
    """
    if not spacing.learnt or float(spacing.share.min()) <= 0.0:
        return ()
    pitch = float(np.median(np.diff(np.append(angles, 1.0))))
    moves = spacing.errors / spacing.share / pitch
    unsure = spacing.uncertainty / spacing.share / pitch
    limit = np.maximum(OUTLIER * _spread(moves), LEAST_MOVE)
    found = np.flatnonzero(np.abs(moves - np.median(moves)) > np.maximum(limit, 3.0 * unsure))
    # A displacement rings into the teeth around it, for only its high orders are seen: the peak of each stretch counts.
    peaks = [int(k) for k in found if np.abs(moves[k]) >= np.abs(moves[_around(k, moves.size)]).max()]
    return tuple(OddTooth("displaced", k, float(angles[k]), float(moves[k]), float(unsure[k])) for k in peaks)


def weak_teeth(angles: Array, amplitude: Array, uncertainty: float) -> tuple[OddTooth, ...]:
    """Return teeth whose signal is weaker than that of their neighbours on either side.

    Parameters
    ----------
    angles : (place,) float
        [turns].
    amplitude : (place,) float
        Swing of each tooth at the same speed.
    uncertainty : float
        Relative standard uncertainty of one of them.
    """
    near = np.array([np.nanmedian(amplitude[_around(k, amplitude.size)]) for k in range(amplitude.size)])
    loss = 1.0 - amplitude / near
    limit = max(LEAST_LOSS, OUTLIER * _spread(loss[np.isfinite(loss)]), 3.0 * uncertainty)
    # The teeth beside a gap swing differently on any good wheel, so they are judged by nothing here.
    step = np.diff(np.append(angles, 1.0 + angles[0]))
    beside = np.zeros(angles.size, dtype=bool)
    wide = np.flatnonzero(step > 1.4 * np.median(step))
    beside[wide], beside[(wide + 1) % angles.size] = True, True
    return tuple(
        OddTooth("weak", int(k), float(angles[k]), float(loss[k]), uncertainty)
        for k in np.flatnonzero((loss > limit) & ~beside)
    )


def missing_teeth(grid: TurnGrid) -> tuple[OddTooth, ...]:
    """Return places that give no edge in most turns, as the share of whole turns without it."""
    inside = grid.times[1:-1]
    if len(inside) < LEAST_TURNS:
        return ()
    lost = 1.0 - np.isfinite(inside).mean(axis=0)
    return tuple(
        OddTooth("missing", int(k), float(grid.angles[k]), float(lost[k]), _binomial(float(lost[k]), len(inside)))
        for k in np.flatnonzero(lost >= EVERY_TURN)
    )


def extra_teeth(fit: WheelFit, grid: TurnGrid) -> tuple[OddTooth, ...]:
    """Return angles at which an edge that belongs to no tooth comes back in most turns."""
    turns = len(grid.times) - 2
    extra = fit.times[fit.place < 0]
    if turns < LEAST_TURNS or extra.size < LEAST_TURNS:
        return ()
    seen = grid.seen.ravel()
    angle = np.interp(extra, grid.times.ravel()[seen], grid.turn_angles.ravel()[seen])
    around = np.sort(angle % 1.0)
    pitch = float(np.median(np.diff(np.append(grid.angles, 1.0))))
    cuts = np.flatnonzero(np.diff(around) > SAME_PLACE * pitch) + 1
    groups = [g for g in np.split(around, cuts) if g.size >= EVERY_TURN * turns]
    return tuple(
        OddTooth(
            "extra",
            int(np.searchsorted(grid.angles, np.median(g), side="right") - 1),
            float(np.median(g)),
            min(g.size / turns, 1.0),
            _binomial(min(g.size / turns, 1.0), turns),
        )
        for g in groups
    )


def _around(place: int | np.intp, count: int) -> NDArray[np.intp]:
    offset = np.concatenate([np.arange(-NEIGHBOURS, 0), np.arange(1, NEIGHBOURS + 1)])
    return np.asarray((place + offset) % count, dtype=np.intp)


def _spread(values: Array) -> float:
    return float(1.4826 * np.median(np.abs(values - np.median(values))))


def _binomial(share: float, count: int) -> float:
    """Return the standard uncertainty of a share of so many turns (one success and one failure added)."""
    likely = (share * count + 1.0) / (count + 2.0)
    return float(np.sqrt(likely * (1.0 - likely) / (count + 2.0)))
