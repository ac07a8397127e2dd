"""A restriction for a liquid: flow as the root of the pressure difference, straight where that is small."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["Turbulent"]


class Turbulent:
    """``flow = k u / (u^2 + w^2)^(1/4)``: k sqrt(u) well above w, laminar below it."""

    name: ClassVar[str] = "turbulent"
    parameters: ClassVar[tuple[str, ...]] = ("k", "w")
    absent: ClassVar[tuple[float, ...]] = (0.0, 1.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = False

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return p[0] * u * (u**2 + p[1] ** 2) ** -0.25

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and its slope."""
        square = u**2 + p[1] ** 2
        chord = p[0] * square**-0.25
        return chord * u, chord * (1.0 - 0.5 * u**2 / square)

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`, but zero where the flow would turn round: the root is steepest there."""
        return np.where(old * new < 0, 0.0, new)

    @staticmethod
    def content(u: Array, p: Array) -> Array:
        """Return the integral of the flow."""
        return p[0] * (2.0 / 3.0) * ((u**2 + p[1] ** 2) ** 0.75 - p[1] ** 1.5)

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return d flow by k and by w."""
        square = u**2 + p[1] ** 2
        unit = u * square**-0.25
        return np.stack([unit, -0.5 * p[0] * p[1] * unit / square])
