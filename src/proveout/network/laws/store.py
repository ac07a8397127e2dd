"""What is stored follows from the effort: heat from temperature, gas from pressure, fluid over a gas charge.

At rest nothing flows in or out. While time is stepped a store is the branch ``flow = k (amount(u) - a)``: k = 1 / span
and a, what it held, are put in by the stepper (`network.timeline`).
"""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from proveout.network.laws._law import Array

__all__ = ["ChargeStore", "GasStore", "Store"]

LEAST = 1.0  # pascal absolute


class Store:
    """``amount = c u``: a thermal mass, an elastic line."""

    name: ClassVar[str] = "store"
    parameters: ClassVar[tuple[str, ...]] = ("k", "a", "c")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.0, 0.0)
    linear: ClassVar[bool] = False
    directed: ClassVar[bool] = False

    @staticmethod
    def amount(u: Array, p: Array) -> tuple[Array, Array]:
        """Return what is stored, and its slope by the effort."""
        return p[2] * u, np.broadcast_to(p[2], u.shape)

    @classmethod
    def flow(cls, u: Array, p: Array) -> Array:
        """Return the flow; see `Law.flow`."""
        return p[0] * (cls.amount(u, p)[0] - p[1])

    @classmethod
    def tangent(cls, u: Array, p: Array) -> tuple[Array, Array]:
        """Return the flow and its slope."""
        amount, slope = cls.amount(u, p)
        return p[0] * (amount - p[1]), p[0] * slope

    @staticmethod
    def approach(old: Array, new: Array, p: Array) -> Array:
        """Return `new`: the bend is gentle."""
        return new

    @classmethod
    def content(cls, u: Array, p: Array) -> Array:
        """Return the integral of the flow."""
        return p[0] * (0.5 * p[2] * u - p[1]) * u

    @classmethod
    def by_parameter(cls, u: Array, p: Array) -> Array:
        """Return d flow by k, a, and by each parameter of what is stored."""
        amount = cls.amount(u, p)[0]
        return np.stack([amount - p[1], np.broadcast_to(-p[0], u.shape), *(p[0] * row for row in cls.of_amount(u, p))])

    @classmethod
    def of_amount(cls, u: Array, p: Array) -> tuple[Array, ...]:
        """Return d amount by each parameter but k and a."""
        return (u,)


class GasStore(Store):
    """``amount = c air (p / air)^m``, p = u + air: gas in a vessel of c = V / (R T) at the air's pressure.

    m is 1 where the gas keeps its temperature, 1 / 1.4 where air exchanges no heat.
    """

    name: ClassVar[str] = "gas_store"
    parameters: ClassVar[tuple[str, ...]] = ("k", "a", "c", "air", "m")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.0, 0.0, 101325.0, 1.0)

    @staticmethod
    def amount(u: Array, p: Array) -> tuple[Array, Array]:
        """Return what is stored, and its slope by the effort."""
        pressure = u + p[3]
        if (p[4] == 1.0).all():
            return p[2] * pressure, np.broadcast_to(p[2], u.shape)
        held = np.maximum(pressure, LEAST)
        slope = p[2] * p[4] * (held / p[3]) ** (p[4] - 1.0)
        return p[2] * p[3] * (held / p[3]) ** p[4] + slope * (pressure - held), slope

    @classmethod
    def content(cls, u: Array, p: Array) -> Array:
        """Return the integral of the flow."""
        power = p[4] + 1.0
        below = np.maximum(u + p[3], LEAST)
        whole = p[2] * p[3] ** 2 / power * ((below / p[3]) ** power - 1.0)
        return p[0] * (whole - p[1] * u)

    @classmethod
    def of_amount(cls, u: Array, p: Array) -> tuple[Array, ...]:
        """Return d amount by c, the air's pressure and m."""
        ratio = np.maximum(u + p[3], LEAST) / p[3]
        amount = p[3] * ratio ** p[4]
        by_air = p[2] * ratio ** p[4] * (1.0 - p[4] + p[4] / ratio)
        return amount, by_air, p[2] * amount * np.log(ratio)


class ChargeStore(Store):
    """``amount = c u + V (1 - (p0 / p)^m)``, p = u + air above the charge p0, else ``c u``: fluid over a gas charge.

    V is the gas volume at the charge's pressure (Boyle's law for m = 1); c is the elasticity of line and shell.
    """

    name: ClassVar[str] = "charge_store"
    parameters: ClassVar[tuple[str, ...]] = ("k", "a", "c", "air", "m", "v", "charge")
    absent: ClassVar[tuple[float, ...]] = (0.0, 0.0, 0.0, 101325.0, 1.0, 0.0, 1.0e5)

    @staticmethod
    def amount(u: Array, p: Array) -> tuple[Array, Array]:
        """Return what is stored, and its slope by the effort."""
        pressure = np.maximum(u + p[3], p[6])
        left = (p[6] / pressure) ** p[4]
        slope = np.where(u + p[3] > p[6], p[5] * p[4] * left / pressure, 0.0)
        return p[2] * u + p[5] * (1.0 - left), p[2] + slope

    @classmethod
    def content(cls, u: Array, p: Array) -> Array:
        """Return the integral of the flow; m other than 1 only."""
        start, end = np.maximum(p[3], p[6]), np.maximum(u + p[3], p[6])
        power = np.where(np.abs(p[4] - 1.0) < 1e-6, 1.0 + 1e-6, p[4])

        def over(pressure: Array) -> Array:
            return pressure - p[6] ** power * pressure ** (1.0 - power) / (1.0 - power)

        return p[0] * (0.5 * p[2] * u**2 + p[5] * (over(end) - over(start)) - p[1] * u)

    @classmethod
    def of_amount(cls, u: Array, p: Array) -> tuple[Array, ...]:
        """Return d amount by c, the air's pressure, m, V and the charge."""
        pressure = np.maximum(u + p[3], p[6])
        above = u + p[3] > p[6]
        left = (p[6] / pressure) ** p[4]
        by_air = np.where(above, p[5] * p[4] * left / pressure, 0.0)
        by_m = p[5] * left * np.log(pressure / p[6])
        by_charge = np.where(above, -p[5] * p[4] * left / p[6], 0.0)
        return u, by_air, by_m, 1.0 - left, by_charge
