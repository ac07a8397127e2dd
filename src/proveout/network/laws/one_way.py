"""A flow that begins at a pressure difference: relief and check valves for liquids."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["OneWay"]


class OneWay:
    """``flow = g (u - e)`` above the opening effort e, none below."""

    name: ClassVar[str] = "one_way"
    parameters: ClassVar[tuple[str, ...]] = ("g", "e")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = False

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return p[0] * np.maximum(u - p[1], 0.0)

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and its slope, 0 or g."""
        return p[0] * np.maximum(u - p[1], 0.0), np.where(u > p[1], p[0], 0.0)

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`: two straight lines need no help."""
        return new

    @staticmethod
    def content(u: Array, p: Array) -> Array:
        """Return half g times the square of what is above e."""
        return 0.5 * p[0] * (np.maximum(u - p[1], 0.0) ** 2 - np.maximum(-p[1], 0.0) ** 2)

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return what is above e, and -g there."""
        return np.stack([np.maximum(u - p[1], 0.0), np.where(u > p[1], -p[0], 0.0)])
