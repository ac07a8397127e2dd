"""The valve of a wax thermostat: it opens by the temperature at its first end, and what passes carries heat.

x = z^2 (3 - 2 z),  z = (first - opens) / span within 0 to 1        opening
flow = k (leak + (1 - leak) x) (first - second)                     heat carried from the hotter first end
flow = k leak (first - second)                                      where the second end is the hotter
"""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["Wax", "WaxLift", "opening"]


def opening(temperature: Array, opens: Array, span: Array) -> tuple[Array, Array]:
    """Return the opening, 0 to 1, and its slope by the temperature."""
    z = np.clip((temperature - opens) / span, 0.0, 1.0)
    return z * z * (3.0 - 2.0 * z), 6.0 * z * (1.0 - z) / span


class Wax:
    """Heat carried through the valve; k is mass flow x heat capacity with the valve full open."""

    name: ClassVar[str] = "wax"
    parameters: ClassVar[tuple[str, ...]] = ("k", "leak", "opens", "span")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.0, 0.0, 1.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = True

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return Wax.tangent(u, p)[0]

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and its slopes by the first and (taken off) by the second effort."""
        k, leak = p[0], p[1]
        x, by_x = opening(u[0], p[2], p[3])
        drop = u[0] - u[1]
        forward = drop > 0.0
        carried = k * (leak + (1.0 - leak) * np.where(forward, x, 0.0))
        bend = np.where(forward, k * (1.0 - leak) * by_x * drop, 0.0)
        return carried * drop, np.stack([carried + bend, carried])

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`, but the first effort no further than where the valve starts to move, or stands full open."""
        first = new[0]
        for edge in (p[2], p[2] + p[3]):
            passed = (old[0] - edge) * (new[0] - edge) < 0
            first = np.where(passed & (np.abs(new[0] - edge) > 0.5 * p[3]), edge, first)
        return np.stack([first, new[1]])

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return the four slopes."""
        x, by_x = opening(u[0], p[2], p[3])
        drop = u[0] - u[1]
        forward = drop > 0.0
        x, by_x = np.where(forward, x, 0.0), np.where(forward, by_x, 0.0)
        z = np.clip((u[0] - p[2]) / p[3], 0.0, 1.0)
        moved = p[0] * (1.0 - p[1]) * by_x * drop
        return np.stack([(p[1] + (1.0 - p[1]) * x) * drop, p[0] * (1.0 - x) * drop, -moved, -moved * z])


class WaxLift:
    """``flow = k x(first)``: how far the valve stands open, as something that can be read at the second end."""

    name: ClassVar[str] = "wax_lift"
    parameters: ClassVar[tuple[str, ...]] = ("k", "opens", "span")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.0, 1.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = True

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return p[0] * opening(u[0], p[1], p[2])[0]

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and its slopes; the second effort moves nothing."""
        x, by_x = opening(u[0], p[1], p[2])
        return p[0] * x, np.stack([p[0] * by_x, np.zeros_like(x)])

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`."""
        return new

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return the three slopes."""
        x, by_x = opening(u[0], p[1], p[2])
        z = np.clip((u[0] - p[1]) / p[2], 0.0, 1.0)
        return np.stack([x, -p[0] * by_x, -p[0] * by_x * z])
