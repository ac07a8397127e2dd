"""An exponential junction with an optional breakdown: diodes, protection clamps, check valves of a sort."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["Diode"]

STEEPEST = 40.0  # exponent beyond which the law goes on as its tangent, so that no trial step overflows


def _exp(x: Array) -> Array:
    top = np.minimum(x, STEEPEST)
    return np.exp(top) * (1.0 + (x - top))


def _exp_slope(x: Array) -> Array:
    return np.exp(np.minimum(x, STEEPEST))


def _exp_integral(x: Array) -> Array:
    top = np.minimum(x, STEEPEST)
    over = x - top
    return np.exp(top) * (1.0 + over + 0.5 * over**2)


def _approach(old: Array, new: Array) -> Array:
    base = np.maximum(old, 0.0)
    up = base + np.log1p(np.maximum(new - base, 0.0))
    down = np.where((new - old < -0.9) & (old > 2.0), np.minimum(new, 0.5 * old), new)
    return np.where(new > base, up, down)


class Diode:
    """``flow = s (exp(u / w) - 1) - s exp(-(u + b) / w)``: saturation s, width w, breakdown b.

    The first term is the ideal junction (Shockley 1949) with w = n kT/q; the second mirrors it at the breakdown.
    """

    name: ClassVar[str] = "diode"
    parameters: ClassVar[tuple[str, ...]] = ("s", "w", "b")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.05, 1000.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = False

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return p[0] * (_exp(u / p[1]) - 1.0 - _exp(-(u + p[2]) / p[1]))

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and the junction's conductance."""
        ahead, back = u / p[1], -(u + p[2]) / p[1]
        rise, fall = _exp_slope(ahead), _exp_slope(back)
        flow = rise * (1.0 + np.maximum(ahead - STEEPEST, 0.0)) - 1.0 - fall * (1.0 + np.maximum(back - STEEPEST, 0.0))
        return p[0] * flow, p[0] / p[1] * (rise + fall)

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return the effort difference that carries the flow which the tangent gives at `new`.

        Where the tangent's flow comes near nothing, the next tangent is taken halfway down to zero: the junction is
        going off, and Newton's method alone would come down by one width at a time.
        """
        ahead = p[1] * _approach(old / p[1], new / p[1])
        back = -p[1] * _approach(-(old + p[2]) / p[1], -(new + p[2]) / p[1]) - p[2]
        return np.where(new > -0.5 * p[2], ahead, back)

    @staticmethod
    def content(u: Array, p: Array) -> Array:
        """Return the integral of the flow."""
        zero = np.zeros_like(u)
        forward = p[1] * (_exp_integral(u / p[1]) - _exp_integral(zero)) - u
        back = p[1] * (_exp_integral(-(u + p[2]) / p[1]) - _exp_integral(-(zero + p[2]) / p[1]))
        return p[0] * (forward + back)

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return d flow by saturation, width and breakdown."""
        ahead, back = u / p[1], -(u + p[2]) / p[1]
        by_width = -p[0] / p[1] * (ahead * _exp_slope(ahead) - back * _exp_slope(back))
        return np.stack([_exp(ahead) - 1.0 - _exp(back), by_width, p[0] / p[1] * _exp_slope(back)])
