"""Copper conductors: resistance from length and cross-section."""

from __future__ import annotations

import numpy as np

from proveout.network.laws import Array

__all__ = ["COPPER", "awg_diameter", "copper_resistance"]

COPPER = 1.7241e-8
"""Resistivity of annealed copper at 20 C [ohm m] (International Annealed Copper Standard, IEC 60028)."""


def awg_diameter(gauge: Array | float) -> Array:
    """Return the bare diameter [m] of an American wire gauge: 0.127 mm x 92^((36 - n) / 39) (ASTM B258)."""
    return np.asarray(0.127e-3 * 92.0 ** ((36.0 - np.asarray(gauge, dtype=float)) / 39.0))


def copper_resistance(length: Array | float, area: Array | float) -> Array:
    """Return rho l / A [ohm] at 20 C; `length` [m], `area` [mm2], any shapes that broadcast."""
    return np.asarray(COPPER * np.asarray(length) / (np.asarray(area) * 1e-6))
