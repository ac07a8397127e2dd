"""A flow that is held once there is enough effort: two-wire current sensors."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["Sink"]


class Sink:
    """``flow = i (1 - exp(-u / k))`` for u > 0, its tangent at zero below: a current held above a few k of supply."""

    name: ClassVar[str] = "sink"
    parameters: ClassVar[tuple[str, ...]] = ("i", "k")
    absent: ClassVar[tuple[float, ...]] = (0.0, 1.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = False

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        x = u / p[1]
        return p[0] * np.where(x > 0, -np.expm1(-np.maximum(x, 0.0)), x)

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow, and i / k exp(-u / k), or i / k below zero."""
        x = u / p[1]
        rise = -np.expm1(-np.maximum(x, 0.0))
        return p[0] * np.where(x > 0, rise, x), p[0] / p[1] * (1.0 - rise)

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`: the bend is gentle."""
        return new

    @staticmethod
    def content(u: Array, p: Array) -> Array:
        """Return the integral of the flow."""
        x = u / p[1]
        ahead = np.maximum(x, 0.0)
        return p[0] * p[1] * np.where(x > 0, ahead + np.expm1(-ahead), 0.5 * x**2)

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return d flow by level and by knee."""
        x = u / p[1]
        unit = np.where(x > 0, -np.expm1(-np.maximum(x, 0.0)), x)
        return np.stack([unit, -p[0] * x / p[1] * np.exp(-np.maximum(x, 0.0))])
