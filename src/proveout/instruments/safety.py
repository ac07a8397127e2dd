"""Ohms, continuity and diode tests are refused on a live circuit."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from proveout.errors import BlockedError

from .display import describe
from .functions import Function

__all__ = ["LIVE_LIMIT", "check_ohms_safe", "live"]

# Common practice is 'no voltage present'. 0.05 V [our choice] is above the millivolts of a dead circuit (thermal and
# contact potentials, from memory) and below what turns a 100 Ω reading into 160 Ω on a one-volt ohmmeter.
LIVE_LIMIT = 0.05


def live(open_circuit_volts: ArrayLike, limit: float = LIVE_LIMIT) -> NDArray[np.bool_]:
    """Tell where an ohms test must be refused.

    Parameters
    ----------
    open_circuit_volts : (...) float [V]
        Voltage between the two probe places before the meter is connected; NaN counts as live.
    limit : float [V]
        The most that counts as dead.
    """
    dead: NDArray[np.bool_] = np.abs(np.asarray(open_circuit_volts, dtype=float)) <= limit
    return ~dead


def check_ohms_safe(open_circuit_volts: float, place: str, limit: float = LIVE_LIMIT) -> None:
    """Refuse an ohms, continuity or diode test between two places that carry a voltage.

    Parameters
    ----------
    open_circuit_volts : float [V]
        Voltage between the two probe places before the meter is connected.
    place : str
        Where, in words: 'crank sensor connector, cavity 2 to ground'.
    limit : float [V]
        The most that counts as dead.

    Raises
    ------
    BlockedError
        More than `limit` is present, or the voltage is not known.
    """
    if not live(open_circuit_volts, limit):
        return
    unknown = math.isnan(open_circuit_volts)
    found = "the voltage is not known" if unknown else f"{describe(Function.VOLTS_DC, open_circuit_volts)} is present"
    raise BlockedError(
        f"no ohms test at {place}: {found}, and more than {limit:g} V makes the reading false and can harm the meter. "
        "Switch the ignition off, wait for the control units to sleep, unplug the unit that feeds this wire or "
        "disconnect the battery; measure volts until they are gone, then measure ohms. Or stay on volts and test the "
        "voltage drop."
    )
