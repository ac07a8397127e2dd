"""A wheel matched without fault to made edges: what decoding would give, from the truth."""

from __future__ import annotations

import numpy as np

from captures.synthetic import Passing
from proveout.captures.analysis.wheel import Wheel, WheelFit

__all__ = ["matched"]


def matched(passing: Passing) -> WheelFit:
    """Return the fit of the edges at which each tooth begins."""
    begins = passing.only(True)
    angles = np.asarray(passing.nominal.rise)
    first = int(begins.turn[begins.place >= 0].min())
    lost = begins.lost - np.array([first, 0])
    wheel = Wheel(passing.nominal.name, tuple(float(a) for a in angles - angles[0]))
    turn = np.where(begins.place >= 0, begins.turn - first, -1)
    return WheelFit(wheel, 1.0, begins.times, begins.place, turn, lost)
