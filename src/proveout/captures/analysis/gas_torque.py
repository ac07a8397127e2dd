"""The torque of one cylinder over its cycle, in shape: what a slider-crank makes of compression and of combustion.

Pressure over the closed part of the cycle is polytropic, ``p V^n`` constant, and combustion adds pressure after top
dead centre, spread over an angle. The geometry is that of an ordinary engine; the size does not matter, for shapes are
scaled to what is seen. Slider-crank: ``x = r (1 - cos a) + l - sqrt(l^2 - r^2 sin^2 a)`` (any textbook of engines).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["combustion_harmonics", "compression_harmonics", "inertia_harmonics", "torque_harmonics"]

POINTS = 2880
COMPRESSION_RATIO = 10.0
POLYTROPIC = 1.3
ROD_OVER_CRANK = 3.3
BURNING = np.radians(40.0)
"""Angle after top dead centre over which combustion raises the pressure (common practice)."""
VALVE = np.radians(40.0)
"""Angle after bottom dead centre at which the inlet valve closes, and before it the outlet valve opens."""


def _geometry(angle: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return volume over displacement and its slope over the angle [1/rad] after top dead centre."""
    root = np.sqrt(ROD_OVER_CRANK**2 - np.sin(angle) ** 2)
    down = (1.0 - np.cos(angle) + ROD_OVER_CRANK - root) / 2.0
    slope = (np.sin(angle) + np.sin(angle) * np.cos(angle) / root) / 2.0
    return 1.0 / (COMPRESSION_RATIO - 1.0) + down, slope


def torque_harmonics(torque: NDArray[np.float64], most: int) -> NDArray[np.complex128]:
    """Return harmonics 1 to `most` of a torque over one cycle of two turns, its dead centre at the middle."""
    spectrum = np.fft.fft(np.roll(torque, -torque.size // 2)) / torque.size
    return 2.0 * spectrum[1 : most + 1]


def _pressures() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the compression pressure above that outside, the added one of combustion, and the slope of the volume."""
    angle = (np.arange(POINTS) / POINTS - 0.5) * 4.0 * np.pi
    volume, slope = _geometry(angle)
    closed = np.abs(angle) < np.pi - VALVE
    shut = _geometry(np.array([np.pi - VALVE]))[0][0]
    compression = np.where(closed, (shut / volume) ** POLYTROPIC - 1.0, 0.0)
    burnt = np.clip(angle / BURNING, 0.0, 1.0)
    dead = 1.0 / (COMPRESSION_RATIO - 1.0)
    combustion = np.where(
        closed & (angle > 0), 0.5 * (1.0 - np.cos(np.pi * burnt)) * (dead / volume) ** POLYTROPIC, 0.0
    )
    return compression, combustion, slope


@cache
def compression_harmonics(most: int) -> NDArray[np.complex128]:
    """Return the cycle harmonics of the torque of compression and expansion without combustion, (most,), any unit."""
    compression, _, slope = _pressures()
    return torque_harmonics(compression * slope, most)


@cache
def combustion_harmonics(most: int) -> NDArray[np.complex128]:
    """Return the cycle harmonics of the torque that combustion adds, (most,), any unit."""
    _, combustion, slope = _pressures()
    return torque_harmonics(combustion * slope, most)


@cache
def inertia_harmonics(most: int) -> NDArray[np.complex128]:
    """Return the cycle harmonics of the torque of the moving pistons, (most,), any unit.

    ``m r^2 w^2 (q/4 sin a - 1/2 sin 2a - 3 q/4 sin 3a)`` with q crank over rod (any textbook of engine dynamics).
    """
    angle = (np.arange(POINTS) / POINTS - 0.5) * 4.0 * np.pi
    q = 1.0 / ROD_OVER_CRANK
    return torque_harmonics(0.25 * q * np.sin(angle) - 0.5 * np.sin(2 * angle) - 0.75 * q * np.sin(3 * angle), most)
