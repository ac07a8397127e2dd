"""Conductance with an inner flow source: resistors, wires, batteries, and the companions of storage elements."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["Linear"]


class Linear:
    """``flow = g u - j`` (Norton form); a battery of emf e behind r has g = 1/r and j = e/r."""

    name: ClassVar[str] = "linear"
    parameters: ClassVar[tuple[str, ...]] = ("g", "j")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.0)
    linear: ClassVar[bool] = True
    directed: ClassVar[bool] = False

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return p[0] * u - p[1]

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and the conductance."""
        return p[0] * u - p[1], np.broadcast_to(p[0], u.shape)

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`: the bend is gentle."""
        return new

    @staticmethod
    def content(u: Array, p: Array) -> Array:
        """Return g u^2 / 2 - j u."""
        return (0.5 * p[0] * u - p[1]) * u

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return u and -1."""
        return np.stack([u, np.full_like(u, -1.0)])
