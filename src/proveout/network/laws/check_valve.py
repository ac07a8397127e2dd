"""A restriction for a gas that lets it through one way only, once the pressure difference lifts the valve."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array
from proveout.network.laws.orifice import LEAST, Orifice, gas_flow, gas_slopes

__all__ = ["CheckValve"]


class CheckValve(Orifice):
    """`Orifice` from the first to the second node, the cracking pressure `crack` taken off the first; else shut.

    It lifts over the pressure difference `width` beyond that: its area grows from nothing to all of it.
    """

    name: ClassVar[str] = "check_valve"
    parameters: ClassVar[tuple[str, ...]] = ("k", "b", "air", "crack", "width")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.5, 101325.0, 0.0, 1.0)

    @staticmethod
    def flow(u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return CheckValve.tangent(u, p)[0]

    @staticmethod
    def tangent(u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and its slopes by the first and (taken off) by the second effort."""
        up = np.maximum(u[0] + p[2] - p[3], LEAST)
        down = np.maximum(u[1] + p[2], LEAST)
        full, by_up, by_down = gas_flow(up, np.minimum(down, up), p[0], p[1], np.zeros(1))
        lift = np.clip((up - down) / p[4], 0.0, 1.0)
        lifting = np.where((lift > 0.0) & (lift < 1.0), full / p[4], 0.0)
        return lift * full, np.stack([lift * by_up + lifting, lift * by_down + lifting])

    @staticmethod
    def by_parameter(u: Array, p: Array) -> Array:
        """Return the slope by k, and, by differences, by b and by the three pressures."""
        return gas_slopes(CheckValve.flow, u, p, (1e-4, 1.0, 0.1, 0.1))
