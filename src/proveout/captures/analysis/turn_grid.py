"""Edges laid out by turn and tooth, so that what repeats every turn stands in one column."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.wheel import Wheel, WheelFit
from proveout.errors import InputError

__all__ = ["TurnGrid", "turn_grid"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class TurnGrid:
    """When each tooth of each turn passed.

    Attributes
    ----------
    wheel : Wheel
    times : (turn, place) float64
        [s]; NaN where a tooth gave no edge, and before the first and after the last edge of the record.
    """

    wheel: Wheel
    times: Array

    @cached_property
    def angles(self) -> Array:
        """Angle of each place within the turn, (place,) [turns]."""
        return np.asarray(self.wheel.angles)

    @cached_property
    def seen(self) -> NDArray[np.bool_]:
        """Whether each tooth of each turn gave an edge, (turn, place)."""
        return np.isfinite(self.times)

    @cached_property
    def whole(self) -> NDArray[np.intp]:
        """Turns of which every tooth was seen."""
        return np.flatnonzero(self.seen.all(axis=1))

    @cached_property
    def turn_angles(self) -> Array:
        """Angle of each tooth since the start of turn 0, (turn, place) [turns]."""
        return np.arange(len(self.times))[:, None] + self.angles

    def slowness(self) -> Array:
        """Return dt/dangle at each tooth by central differences, (turn, place) [s per turn]; NaN where not seen."""
        flat, seen = self.times.ravel(), self.seen.ravel()
        found = np.full(flat.size, np.nan)
        if np.count_nonzero(seen) > 1:
            found[seen] = np.gradient(flat[seen], self.turn_angles.ravel()[seen])
        return found.reshape(self.times.shape)


def turn_grid(fit: WheelFit) -> TurnGrid:
    """Lay the edges of a matched wheel out by turn and place.

    Raises
    ------
    InputError
        If no wheel was found, or its edges do not increase in time.
    """
    if fit.wheel is None:
        raise InputError(f"there is no wheel to take angles from: {fit.reason}")
    known = fit.place >= 0
    turns = int(fit.turn[known].max()) + 1 if known.any() else 0
    times = np.full((turns, fit.wheel.teeth), np.nan)
    times[fit.turn[known], fit.place[known]] = fit.times[known]
    flat = times[np.isfinite(times)]
    if np.any(np.diff(flat) <= 0):
        raise InputError(
            "the edges of the wheel run backwards in time: the shaft turned back, or turns are numbered wrongly; cut "
            "the capture where it turns back"
        )
    return TurnGrid(fit.wheel, times)
