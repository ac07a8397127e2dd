"""A restriction for a gas: choked beyond a pressure ratio, elliptic below it, straight near equal pressures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["NEAR", "Orifice", "gas_flow", "gas_slopes"]

NEAR = 0.005
"""Distance from equal pressures, over that of the critical ratio, below which the flow goes in proportion to it: there
the ellipse is infinitely steep. Ten times as far from equal, the flow is within a quarter of a percent of the ellipse.
"""
LEAST = 1.0  # pascal absolute: below it a pressure is taken as this, so that no ratio is without meaning


def _ellipse(ratio: Array, critical: Array) -> tuple[Array, Array]:
    """Return the share of the choked flow at a pressure ratio, and its slope by the ratio (not above 0).

    With d = (1 - r) / (1 - b) the ellipse is sqrt(d (2 - d)); its root is made straight near d = 0.
    """
    d = np.minimum((1.0 - ratio) / (1.0 - critical), 1.0)
    blunt = d * d + NEAR * NEAR
    left = 2.0 - d
    chord = np.sqrt(left / np.sqrt(blunt))
    slope = chord * (1.0 - 0.5 * d * (1.0 / left + d / blunt))
    return d * chord, np.where(d < 1.0, np.minimum(-slope, 0.0) / (1.0 - critical), 0.0)


def gas_flow(up: Array, down: Array, k: Array, critical: Array, power: Array) -> tuple[Array, Array, Array]:
    """Return the mass flow from `up` to `down` (absolute, up >= down) and how it rises with `up` and falls with `down`.

    ``q = k up^(1 - s) air^s share(down / up)``; the slopes returned are both at least 0.

    Parameters
    ----------
    up, down : (...) float [Pa]
    k : (...) float [kg/(s Pa)]
        Already times air^s.
    critical : (...) float
        Pressure ratio b below which the flow is choked.
    power : (...) float
        s: how the temperature of the gas that leaves a vessel falls with its pressure; 0 where it does not.
    """
    ratio = down / up
    share, slope = _ellipse(ratio, critical)
    head = k * up if not power.any() else k * up ** (1.0 - power)
    flow = head * share
    per_up = head / up
    by_down = -per_up * slope
    return flow, per_up * ((1.0 - power) * share) + by_down * ratio, by_down


def gas_slopes(flow: Callable[[Array, Array], Array], u: Array, p: Array, widths: Sequence[float]) -> Array:
    """Return d flow / d parameter of a flow that is proportional to the first of them.

    Parameters
    ----------
    flow : callable
        Flow of efforts `u` and parameters `p`, as `Law.flow`.
    widths : (parameter - 1,) float
        By which half difference each of the others is moved, in its unit.

    Returns
    -------
    (parameter, ..., batch) float
    """
    slopes = [flow(u, np.concatenate([np.ones_like(p[:1]), p[1:]]))]
    for row, width in enumerate(widths, start=1):
        up, down = p.copy(), p.copy()
        up[row] += width
        down[row] -= width
        slopes.append((flow(u, up) - flow(u, down)) / (2.0 * width))
    return np.stack(slopes)


class Orifice:
    """``q = k p1 sqrt(1 - ((r - b) / (1 - b))^2)``, r = p2 / p1, choked below b: ISO 6358-1, from memory.

    k is the sonic conductance C times the density at the reference state and the root of T0 / T1. Pressures are gauge
    pressures u, the surrounding air has the absolute pressure `air`. `s` is 0 for a gas of one temperature; a gas that
    expands in its vessel without heat cools as p^(2 s), and k stands for its state at the pressure of the air.
    """

    name: ClassVar[str] = "orifice"
    parameters: ClassVar[tuple[str, ...]] = ("k", "b", "air", "s")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.5, 101325.0, 0.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = True

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return Orifice.tangent(u, p)[0]

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and its slopes by the first and (taken off) by the second effort."""
        first, second = np.maximum(u + p[2], LEAST)
        forward = first >= second
        up, down = np.where(forward, first, second), np.where(forward, second, first)
        k = p[0] * p[2] ** p[3] if p[3].any() else p[0]
        flow, by_up, by_down = gas_flow(up, down, k, p[1], p[3])
        slope = np.stack([np.where(forward, by_up, by_down), np.where(forward, by_down, by_up)])
        return np.where(forward, flow, -flow), slope

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`: steps of networks with directed branches are held back as a whole (`network.damped`)."""
        return new

    @staticmethod
    def least(p: Array) -> Array:
        """Return the effort below which no end can be: no absolute pressure is below nothing."""
        return LEAST - p[2]

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return the slope by k and by s, and, by differences, by b and by the air's pressure."""
        return gas_slopes(Orifice.flow, u, p, (1e-4, 1.0, 1e-4))
