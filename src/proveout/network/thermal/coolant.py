"""Water and ethylene glycol as an engine's coolant: density, heat capacity, and where it boils under a cap's pressure.

Density and heat capacity are polynomials of glycol's mass fraction w and of t = temperature / 100 °C, fitted from 0 to
60 % and from -10 to 100 °C to the tables of Melinder (Properties of Secondary Working Fluids, IIR 2010) as the package
CoolProp holds them (fluid INCOMP::MEG): within 0.11 % and 0.26 %.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from proveout.errors import InputError
from proveout.network.thermal.saturation import saturation_pressure

__all__ = ["boiling_point", "density", "glycol_vapour_pressure", "heat_capacity", "water_mole_fraction"]

Array = NDArray[np.float64]

ZERO_CELSIUS = 273.15
WATER_MOLAR, GLYCOL_MOLAR = 18.015e-3, 62.068e-3  # kg/mol
MOST_GLYCOL = 0.7  # mass fraction beyond which the polynomials are not used
_DENSITY = np.array([[998.484, -1.518, -39.328], [161.230, -109.840, 58.690], [-19.495, 41.878, -30.971]])
_HEAT = np.array([[4207.48, -110.45, 119.06], [-1615.81, 1514.69, -629.65], [-764.23, -270.02, 210.96]])
LEAST_PRESSURE, MOST_PRESSURE = 1.0e4, 1.0e6
BISECTIONS = 40


def density(temperature: ArrayLike, glycol: ArrayLike = 0.5) -> Array:
    """Return the density [kg m-3] of a mixture.

    Parameters
    ----------
    temperature : (...) float [K]
    glycol : (...) float
        Mass fraction of ethylene glycol.

    Raises
    ------
    InputError
        If the mass fraction is outside 0 to 0.7.
    """
    return _polynomial(_DENSITY, temperature, glycol)


def heat_capacity(temperature: ArrayLike, glycol: ArrayLike = 0.5) -> Array:
    """Return the specific heat capacity [J kg-1 K-1] of a mixture; parameters and errors as of `density`."""
    return _polynomial(_HEAT, temperature, glycol)


def _polynomial(coefficients: Array, temperature: ArrayLike, glycol: ArrayLike) -> Array:
    share = _share(glycol)
    hundreds = (np.asarray(temperature, dtype=float) - ZERO_CELSIUS) / 100.0
    w, t = np.broadcast_arrays(share, hundreds)
    return np.einsum(
        "i...,j...,ij->...", np.stack([w**k for k in range(3)]), np.stack([t**k for k in range(3)]), coefficients
    )


def _share(glycol: ArrayLike) -> Array:
    share = np.asarray(glycol, dtype=float)
    if not ((share >= 0.0) & (share <= MOST_GLYCOL)).all():
        raise InputError(
            f"glycol mass fraction is {np.ravel(share)[0]:g}; it must lie between 0 and {MOST_GLYCOL}: "
            "half and half is 0.5, plain water 0"
        )
    return share


def water_mole_fraction(glycol: ArrayLike) -> Array:
    """Return the share of the molecules that are water, for glycol's mass fraction."""
    share = _share(glycol)
    water = (1.0 - share) / WATER_MOLAR
    return water / (water + share / GLYCOL_MOLAR)


def glycol_vapour_pressure(temperature: ArrayLike) -> Array:
    """Return the vapour pressure [Pa] of ethylene glycol: log10(p / bar) = 4.97012 - 1914.951 / (T - 84.996).

    Antoine coefficients from memory of the NIST chemistry tables (323 to 473 K); it boils at 197.3 °C.
    """
    return 1.0e5 * 10.0 ** (4.97012 - 1914.951 / (np.asarray(temperature, dtype=float) - 84.996))


def boiling_point(pressure: ArrayLike, glycol: ArrayLike = 0.5) -> Array:
    """Return the temperature [K] at which a mixture starts to boil, by Raoult's law.

    x_w p_water(T) + (1 - x_w) p_glycol(T) = pressure, x_w being water's mole fraction: an ideal mixture.

    Parameters
    ----------
    pressure : (...) float [Pa]
        Absolute: what the cap holds and the atmosphere's together.
    glycol : (...) float
        Mass fraction of ethylene glycol.

    Raises
    ------
    InputError
        If a pressure is outside 10 kPa to 1 MPa, or as for `density`.
    """
    wanted, water = np.broadcast_arrays(np.asarray(pressure, dtype=float), water_mole_fraction(glycol))
    if not ((wanted >= LEAST_PRESSURE) & (wanted <= MOST_PRESSURE)).all():
        raise InputError(
            f"absolute pressure is {np.ravel(wanted)[0]:g} Pa; coolant boils between {LEAST_PRESSURE:g} and "
            f"{MOST_PRESSURE:g} Pa here: add the atmosphere's pressure to what the cap is marked with"
        )
    low, high = np.full(wanted.shape, 290.0), np.full(wanted.shape, 520.0)
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        above = water * saturation_pressure(middle) + (1.0 - water) * glycol_vapour_pressure(middle) > wanted
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return 0.5 * (low + high)
