"""A toothed wheel as data, and what decoding found of it in a train of edges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.errors import InputError

__all__ = ["Candidate", "Wheel", "WheelFit"]


@dataclass(frozen=True)
class Wheel:
    """The pattern of one turn.

    Attributes
    ----------
    name : str
        As the trade writes it (`60-2`, `36-2-2-2`, `12+1`), or a description of our own where it has no name.
    angles : tuple of float
        Angle of each counted edge within the turn, increasing from 0 [turns, 0 to 1]. The first edge is the first one
        after the gap (or after the added tooth).
    slots : int
        Number of evenly spaced places that the edges stand on; 0 when they stand on no common grid.
    widths : tuple of float
        For width-coded wheels the duty of each tooth, 0 to 1; empty otherwise.
    """

    name: str
    angles: tuple[float, ...]
    slots: int = 0
    widths: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        steps = np.diff(self.angles)
        if not self.angles or self.angles[0] != 0.0 or np.any(steps <= 0) or self.angles[-1] >= 1.0:
            raise InputError(f"wheel '{self.name}' has angles {self.angles}; they must increase from 0 to below 1 turn")

    @property
    def teeth(self) -> int:
        """Counted edges per turn."""
        return len(self.angles)


@dataclass(frozen=True)
class Candidate:
    """A wheel that was considered and its posterior probability, 0 to 1; `even teeth` is one without marks."""

    name: str
    probability: float


@dataclass(frozen=True)
class WheelFit:
    """A wheel matched to a train of edges.

    Attributes
    ----------
    wheel : Wheel or None
        None when the data do not decide it; `reason` says why.
    probability : float
        Posterior probability of the wheel among those considered, 0 to 1.
    place : (edge,) int64
        Index into `wheel.angles` of each edge; -1 for an extra edge that belongs to no tooth, and for every edge when
        there is no wheel.
    turn : (edge,) int64
        Turn number of each edge, from 0; meaningless where `place` is -1.
    lost : (lost, 2) int64
        Turn and place of each tooth that should have given an edge between the first and the last one and did not.
    times : (edge,) float64
        The edges' times [s].
    reason : str
        Why there is no wheel, or what stays ambiguous (two turns of one wheel, one of another); empty otherwise.
    rising : bool
        Whether `times` are the rising edges; the other ones do not stand so well on the wheel, or as well.
    edge : str
        Why those edges were taken.
    even : bool
        Whether the edges are evenly spaced, so that nothing marks a turn and teeth a turn cannot be counted.
    candidates : tuple of Candidate
        What was considered, likeliest first.
    """

    wheel: Wheel | None
    probability: float
    times: NDArray[np.float64]
    place: NDArray[np.int64]
    turn: NDArray[np.int64]
    lost: NDArray[np.int64]
    reason: str = ""
    rising: bool = True
    edge: str = ""
    even: bool = False
    candidates: tuple[Candidate, ...] = ()

    def angle(self) -> NDArray[np.float64]:
        """Return the wheel angle of each edge since the start of turn 0 [turns], NaN for extra edges.

        Raises
        ------
        InputError
            If no wheel was found.
        """
        if self.wheel is None:
            raise InputError(f"there is no wheel to take angles from: {self.reason}")
        angles = np.asarray(self.wheel.angles)
        known = self.place >= 0
        return np.where(known, self.turn + angles[np.where(known, self.place, 0)], np.nan)
