"""Wheels of the list laid on the edges as they are cut, with nothing learnt: what decides when turns are few."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.pattern.follow import Noise, Prices, follow
from proveout.captures.analysis.wheel import Wheel

__all__ = ["likelihood_as_cut", "screened", "wheel_steps"]

Array = NDArray[np.float64]

_ROUGH = (Noise(0.03, 0.02), Noise(0.06, 0.12), Noise(0.12, 0.4))
_FINE = (
    Noise(0.015, 0.006),
    Noise(0.03, 0.015),
    Noise(0.03, 0.06),
    Noise(0.06, 0.2),
    Noise(0.12, 0.05),
    Noise(0.1, 0.4),
)
_SCREEN = 220  # edges of the first look
_PRICES = Prices(beam=25.0)


def wheel_steps(wheel: Wheel) -> Array:
    """Return the angle from each tooth to the next in units of the middle one [pitches]."""
    steps = np.diff([*wheel.angles, 1.0])
    return steps / np.median(steps)


def screened(times: Array, wheels: Sequence[Wheel], most: int) -> list[Wheel]:
    """Return the wheels that fit the first edges best without any learning.

    Parameters
    ----------
    times : (edge,) float64 [s]
    wheels : sequence of Wheel
        Those with at most two thirds as many teeth as there are edges are tried.
    most : int
        How many to return.
    """
    few = times[:_SCREEN]
    tried = [wheel for wheel in wheels if 1.5 * wheel.teeth <= times.size]
    return sorted(tried, key=lambda wheel: -_score(few, wheel, _ROUGH))[:most]


def likelihood_as_cut(times: Array, wheel: Wheel) -> float:
    """Return the log likelihood of edges on a wheel as cut, each tooth as likely to be the first.

    Tooth errors and ripple are taken as scatter here, the same for all wheels.
    """
    return _score(times, wheel, _FINE)


def _score(times: Array, wheel: Wheel, noises: Sequence[Noise]) -> float:
    steps = wheel_steps(wheel)
    return max(follow(times, steps, noise, _PRICES).score for noise in noises) - float(np.log(wheel.teeth))
