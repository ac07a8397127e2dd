"""Dry air as a perfect gas, and what a hole lets through when it is choked."""

from __future__ import annotations

import numpy as np

from proveout.network.laws import Array

__all__ = ["AIR", "KAPPA", "choked", "kelvin", "sonic_conductance"]

AIR = 287.05287
"""Specific gas constant [J/(kg K)]: ISO 2533, from memory."""
KAPPA = 1.4
_CHOKED = np.sqrt(KAPPA) * (2.0 / (KAPPA + 1.0)) ** ((KAPPA + 1.0) / (2.0 * (KAPPA - 1.0)))
_REFERENCE_DENSITY, _REFERENCE_TEMPERATURE = 1.185, 293.15  # ISO 6358-1 (100 kPa, 20 C, 65 % humidity), from memory


def kelvin(celsius: Array | float) -> Array:
    """Return degree Celsius in kelvin."""
    return np.asarray(np.asarray(celsius, dtype=float) + 273.15)


def choked(area: Array | float, temperature: Array | float) -> Array:
    """Return the choked mass flow through an effective area over the pressure before it [kg/(s Pa)].

    ``m / p = A sqrt(kappa / (R T)) (2 / (kappa + 1))^((kappa + 1) / (2 (kappa - 1)))``: the isentropic nozzle of any
    gas-dynamics text.

    Parameters
    ----------
    area : (...) float [mm2]
    temperature : (...) float [°C]
    """
    return np.asarray(np.asarray(area) * 1e-6 * _CHOKED / np.sqrt(AIR * kelvin(temperature)))


def sonic_conductance(area: Array | float) -> Array:
    """Return the sonic conductance C of ISO 6358 [m3/(s Pa)] of an effective area [mm2]: choked flow over density."""
    return np.asarray(choked(area, _REFERENCE_TEMPERATURE - 273.15) / _REFERENCE_DENSITY)
