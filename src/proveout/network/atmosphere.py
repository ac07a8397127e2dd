"""The standard atmosphere up to 20 km: pressure and temperature of the air by altitude.

ISO 2533 (1975) and the U.S. Standard Atmosphere 1976 are the same here: a geopotential altitude h = r z / (r + z), a
temperature that falls by 6.5 K/km from 288.15 K to 11 km and then stays, and hydrostatic balance of a perfect gas.
Constants from memory.
"""

from __future__ import annotations

import numpy as np

from proveout.network.laws import Array

__all__ = ["SEA_LEVEL", "altitude_of_pressure", "pressure_at", "temperature_at"]

SEA_LEVEL = 101325.0
"""Pressure at sea level [Pa]."""
_EARTH = 6356766.0  # nominal radius [m]
_T0, _LAPSE, _TROPOPAUSE = 288.15, 6.5e-3, 11000.0
_G0, _R = 9.80665, 8314.32 / 28.9644  # the gas constant of 1976
_POWER = _G0 / (_R * _LAPSE)
_T11 = _T0 - _LAPSE * _TROPOPAUSE
_P11 = SEA_LEVEL * (_T11 / _T0) ** _POWER


def _geopotential(altitude: Array | float) -> Array:
    z = np.asarray(altitude, dtype=float)
    return np.asarray(_EARTH * z / (_EARTH + z))


def temperature_at(altitude: Array | float) -> Array:
    """Return the temperature of the air [K] at a geometric altitude [m], any shape, up to 20 km."""
    return np.asarray(np.maximum(_T0 - _LAPSE * _geopotential(altitude), _T11))


def pressure_at(altitude: Array | float) -> Array:
    """Return the pressure of the air [Pa] at a geometric altitude [m], any shape, up to 20 km."""
    h = _geopotential(altitude)
    low = SEA_LEVEL * (np.maximum(_T0 - _LAPSE * h, _T11) / _T0) ** _POWER
    high = _P11 * np.exp(-_G0 * (h - _TROPOPAUSE) / (_R * _T11))
    return np.asarray(np.where(h <= _TROPOPAUSE, low, high))


def altitude_of_pressure(pressure: Array | float) -> Array:
    """Return the geometric altitude [m] at which the air has a pressure [Pa], any shape."""
    p = np.asarray(pressure, dtype=float)
    low = _T0 / _LAPSE * (1.0 - (p / SEA_LEVEL) ** (1.0 / _POWER))
    high = _TROPOPAUSE - _R * _T11 / _G0 * np.log(p / _P11)
    h = np.where(p >= _P11, low, high)
    return np.asarray(_EARTH * h / (_EARTH - h))
