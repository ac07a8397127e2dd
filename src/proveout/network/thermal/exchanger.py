"""What share of the heat that it could pass a radiator or heater core does pass: effectiveness and transfer units.

With C = mass flow x heat capacity of each side, C_min and C_max the smaller and the greater of the two, C_r their ratio
and NTU = UA / C_min, the heat flow is effectiveness x C_min x (inlet difference). Source: Incropera and DeWitt,
Fundamentals of Heat and Mass Transfer, the effectiveness-NTU method, table 11.3; compared in the tests with the package
ht.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["crossflow_effectiveness", "exchanger_conductance", "mixed_effectiveness"]

Array = NDArray[np.float64]

TINY = 1e-12


def crossflow_effectiveness(units: ArrayLike, ratio: ArrayLike) -> Array:
    """Return the effectiveness of crossflow with both sides unmixed, as in a radiator with fins.

    1 - exp(NTU^0.22 / C_r (exp(-C_r NTU^0.78) - 1)): within a few hundredths; 1 - exp(-NTU) at C_r = 0.

    Parameters
    ----------
    units : (...) float
        NTU, number of transfer units.
    ratio : (...) float
        C_r, from 0 to 1.
    """
    n, r = np.maximum(np.asarray(units, dtype=float), TINY), np.maximum(np.asarray(ratio, dtype=float), TINY)
    return -np.expm1(n**0.22 / r * np.expm1(-r * n**0.78))


def mixed_effectiveness(units: ArrayLike) -> Array:
    """Return the effectiveness against a side that has one temperature throughout (C_r = 0): 1 - exp(-NTU)."""
    return -np.expm1(-np.asarray(units, dtype=float))


def exchanger_conductance(one: ArrayLike, other: ArrayLike, transfer: ArrayLike) -> Array:
    """Return the heat flow for each kelvin between the two inlets [W/K].

    Parameters
    ----------
    one, other : (...) float [W/K]
        Mass flow x heat capacity of the two sides.
    transfer : (...) float [W/K]
        UA, heat transfer through the wall.
    """
    first, second = np.asarray(one, dtype=float), np.asarray(other, dtype=float)
    least, most = np.minimum(first, second), np.maximum(first, second)
    units = np.asarray(transfer, dtype=float) / np.maximum(least, TINY)
    return crossflow_effectiveness(units, least / np.maximum(most, TINY)) * least
