"""What a hole lets a liquid through."""

from __future__ import annotations

import numpy as np

from proveout.network.elements._element import Parameter
from proveout.network.laws import Array

__all__ = ["DENSITY", "LAMINAR", "root_conductance"]

DENSITY = Parameter("kg/m3", "density of the fluid", 870.0, low=1.0)
LAMINAR = 1.0e3
"""Pressure difference below which flow through a hole is laminar [Pa]: our choice, far below what gauges show."""


def root_conductance(area: Array | float, density: Array | float) -> Array:
    """Return flow over root of pressure difference of an effective area [mm2]: A sqrt(2 / rho), Bernoulli."""
    return np.asarray(np.asarray(area) * 1e-6 * np.sqrt(2.0 / np.asarray(density)))
