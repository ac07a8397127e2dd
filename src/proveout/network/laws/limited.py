"""A source that gives and takes only so much: regulators and control-unit supplies."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["Limited"]


def _limit(w: Array, p: Array) -> Array:
    return np.where(w > 0, p[2], p[3])


def _drive(u: Array, p: Array) -> Array:
    return (p[0] - u) * p[1]


class Limited:
    """``flow = -L tanh(w / L)`` with ``w = (e - u) g``; L is the limit given (`give`) for w > 0, taken (`take`) below.

    Near the set effort it is a source e behind 1/g; far from it the flow stays at the limit (a soft current limit).
    """

    name: ClassVar[str] = "limited"
    parameters: ClassVar[tuple[str, ...]] = ("e", "g", "give", "take")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.0, 1.0, 1.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = False

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        w = _drive(u, p)
        limit = _limit(w, p)
        return -limit * np.tanh(w / limit)

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and g sech^2(w / L)."""
        w = _drive(u, p)
        limit = _limit(w, p)
        t = np.tanh(w / limit)
        return -limit * t, p[1] * (1.0 - t**2)

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`, but the set effort between the two limits: a tangent at a limit knows nothing of the other."""
        before, after = _drive(old, p), _drive(new, p)
        limits = np.minimum(np.abs(before) / _limit(before, p), np.abs(after) / _limit(after, p)) > 1.0
        return np.where(limits & (before * after < 0), p[0], new)

    @staticmethod
    def content(u: Array, p: Array) -> Array:
        """Return L^2 / g ln cosh(w / L), less its value at u = 0."""
        conductance = np.where(p[1] > 0, p[1], 1.0)

        def integral(w: Array) -> Array:
            limit = _limit(w, p)
            x = np.abs(w) / limit
            return limit**2 / conductance * (x + np.log1p(np.exp(-2.0 * x)) - np.log(2.0))

        return np.where(p[1] > 0, integral(_drive(u, p)) - integral(_drive(np.zeros_like(u), p)), 0.0)

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return the four slopes."""
        w = _drive(u, p)
        limit = _limit(w, p)
        t = np.tanh(w / limit)
        sech2 = 1.0 - t**2
        by_limit = -t + (w / limit) * sech2
        giving = w > 0
        return np.stack(
            [-p[1] * sech2, -(p[0] - u) * sech2, np.where(giving, by_limit, 0.0), np.where(giving, 0.0, by_limit)]
        )
