"""A filament: its resistance rises as it heats."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["POWER", "Lamp"]

POWER = 0.225  # far above the knee the current then grows as voltage^0.55, common practice for tungsten


class Lamp:
    """``flow = u / r (1 + (u / k)^2)^-0.225``: cold resistance r, knee k, current as u^0.55 well above the knee."""

    name: ClassVar[str] = "lamp"
    parameters: ClassVar[tuple[str, ...]] = ("g", "k")
    absent: ClassVar[tuple[float, ...]] = (0.0, 1.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = False

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return p[0] * u * (1.0 + (u / p[1]) ** 2) ** -POWER

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and the differential conductance."""
        q = (u / p[1]) ** 2
        chord = p[0] * (1.0 + q) ** -POWER
        return chord * u, chord * (1.0 + q * (1.0 - 2.0 * POWER)) / (1.0 + q)

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`, but zero between the two signs: a hot filament's tangent overshoots a cold one's far side."""
        return np.where(old * new < 0, 0.0, new)

    @staticmethod
    def content(u: Array, p: Array) -> Array:
        """Return the integral of the flow."""
        power = 1.0 - POWER
        return p[0] * p[1] ** 2 / (2.0 * power) * ((1.0 + (u / p[1]) ** 2) ** power - 1.0)

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return d flow by cold conductance and by knee."""
        q = (u / p[1]) ** 2
        per_unit = u * (1.0 + q) ** -POWER
        return np.stack([per_unit, p[0] * per_unit * 2.0 * POWER * q / (p[1] * (1.0 + q))])
