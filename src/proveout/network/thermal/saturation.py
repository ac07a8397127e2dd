"""Vapour pressure of water: the saturation line of IAPWS-IF97.

Source: IAPWS R7-97, the release on the industrial formulation of that year (IF97), section 8.1, equations 29 to 31,
coefficients of its table 34; compared in the tests with the package iapws and with CoolProp.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["saturation_pressure", "saturation_temperature"]

N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


def saturation_pressure(temperature: ArrayLike) -> NDArray[np.float64]:
    """Return the pressure [Pa] at which water boils at a temperature [K], from 273.15 to 647 K."""
    kelvin = np.asarray(temperature, dtype=float)
    theta = kelvin + N[8] / (kelvin - N[9])  # eq. 29b
    a = theta**2 + N[0] * theta + N[1]
    b = N[2] * theta**2 + N[3] * theta + N[4]
    c = N[5] * theta**2 + N[6] * theta + N[7]
    return 1.0e6 * (2.0 * c / (-b + np.sqrt(b * b - 4.0 * a * c))) ** 4  # eq. 30


def saturation_temperature(pressure: ArrayLike) -> NDArray[np.float64]:
    """Return the temperature [K] at which water boils under an absolute pressure [Pa], from 611 Pa to 22 MPa."""
    beta = (np.asarray(pressure, dtype=float) / 1.0e6) ** 0.25  # eq. 29a
    e = beta**2 + N[2] * beta + N[5]
    f = N[0] * beta**2 + N[3] * beta + N[6]
    g = N[1] * beta**2 + N[4] * beta + N[7]
    d = 2.0 * g / (-f - np.sqrt(f * f - 4.0 * e * g))
    return 0.5 * (N[9] + d - np.sqrt((N[9] + d) ** 2 - 4.0 * (N[8] + N[9] * d)))  # eq. 31
