"""A wax thermostat's valve: how far it stands open at a temperature, rising and falling.

The wax melts over a span of temperature, from start-to-open to full-open, and the valve follows with play: it closes at
temperatures lower by the hysteresis than those at which it opened.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["flow_share", "opening_after", "rising_opening"]

Array = NDArray[np.float64]


def rising_opening(temperature: ArrayLike, starts: ArrayLike, full: ArrayLike) -> Array:
    """Return the opening, 0 shut to 1 full, of a valve that warms up.

    Parameters
    ----------
    temperature, starts, full : (...) float [K]
        Of the wax; where the valve starts to open; where it is full open.
    """
    span = np.asarray(full, dtype=float) - np.asarray(starts, dtype=float)
    return np.clip((np.asarray(temperature, dtype=float) - np.asarray(starts, dtype=float)) / span, 0.0, 1.0)


def opening_after(opening: ArrayLike, temperature: ArrayLike, starts: ArrayLike, full: ArrayLike, play: float) -> Array:
    """Return the opening of a valve that stood at `opening` once its wax has come to `temperature`.

    The play operator (Krasnosel'skii and Pokrovskii 1989): the opening stays between the rising curve and the falling
    one, which lies lower in temperature by `play` [K], and moves only when one of them pushes it.
    """
    wax = np.asarray(temperature, dtype=float)
    least, most = rising_opening(wax, starts, full), rising_opening(wax + play, starts, full)
    return np.clip(np.asarray(opening, dtype=float), least, most)


def flow_share(opening: ArrayLike, leakage: ArrayLike) -> Array:
    """Return the flow through the radiator as a share of that at full opening; `leakage` is the share when shut."""
    leak = np.asarray(leakage, dtype=float)
    return leak + (1.0 - leak) * np.asarray(opening, dtype=float)
