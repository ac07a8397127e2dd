"""Residuals of a trace made independent: what the equations leave out drifts slowly, the display's step does not.

The residual is a first-order Gauss-Markov drift of standard deviation `drift` and correlation time `LAG` plus white
noise of standard deviation `white`. The steady Kalman filter of that model turns it into independent innovations by one
linear recursion (Kailath 1968), which the derivatives pass through alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

__all__ = ["LAG", "Whitening", "whitening"]

Array = NDArray[np.float64]

LAG = 60.0  # s, our choice: how long a drift lasts


@dataclass(frozen=True)
class Whitening:
    """Innovation filter: keep of the drift from one reading to the next, gain, and the innovations' variance [K^2]."""

    keep: float
    gain: float
    variance: float

    def applied(self, residual: Array) -> Array:
        """Return innovations in standard deviations, (..., reading), of residuals [K]."""
        white = lfilter([1.0, -self.keep], [1.0, -self.keep * (1.0 - self.gain)], residual, axis=-1)
        return np.asarray(white) / np.sqrt(self.variance)

    def log_density(self, residual: Array) -> float:
        """Return the log density of one trace of residuals, (reading,)."""
        innovation = self.applied(residual)
        return -0.5 * float(innovation @ innovation) - residual.size * self.log_norm

    @property
    def log_norm(self) -> float:
        """What the log density of each reading is less than minus half its squared innovation."""
        return 0.5 * float(np.log(2.0 * np.pi * self.variance))


def whitening(drift: float, white: float, interval: float) -> Whitening:
    """Return the filter for readings `interval` [s] apart; `drift` and `white` are standard deviations [K]."""
    keep = float(np.exp(-interval / LAG))
    fresh, noise = drift**2 * (1.0 - keep**2), white**2
    b = noise * (1.0 - keep**2) - fresh
    ahead = 0.5 * (-b + np.sqrt(b * b + 4.0 * fresh * noise))
    return Whitening(keep, float(ahead / (ahead + noise)), float(ahead + noise))
