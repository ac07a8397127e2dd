"""An engine turned by its starter or running, integrated by scipy: pressure in every cylinder, slider-crank, one shaft.

Written apart from the product: pressures follow the first law with leakage past the rings, the valves open and close,
and the shaft's speed comes out of the torques. Everything about the engine is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

__all__ = ["Engine", "Turned", "turn"]

Array = NDArray[np.float64]
ATMOSPHERE = 101_325.0
GAMMA = 1.35


@dataclass(frozen=True)
class Engine:
    """Geometry [m, kg m2], what leaks, what fires, and the starter (torque [N m] at rest, speed [rad/s] without load).

    `leak` is, by cylinder in firing order, the share of the charge lost a second at one atmosphere above ambient;
    `heat` is the pressure that combustion adds, by cylinder [atmospheres].
    """

    cylinders: int = 4
    bore: float = 0.080
    stroke: float = 0.086
    rod: float = 0.140
    compression: float = 10.5
    inertia: float = 0.25
    piston_mass: float = 0.45
    manifold: float = 1.0
    leak: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)
    heat: tuple[float, ...] = ()
    friction: float = 12.0
    drag: float = 0.25
    starter_torque: float = 190.0
    starter_speed: float = 36.0
    current_at_rest: float = 520.0
    top: float = 0.9  # angle of the first cylinder's firing dead centre [rad] after angle 0
    closes: float = field(default=np.radians(40.0))
    opens: float = field(default=np.radians(40.0))


@dataclass(frozen=True)
class Turned:
    """Time [s], shaft angle [rad], speed [rad/s], starter current [A]; compression work of each cylinder [J].

    `work` is the work taken between the closing of the inlet and dead centre, averaged over the cycles after the first.
    """

    times: Array
    angle: Array
    speed: Array
    current: Array
    work: Array
    peak: Array


def _volume(engine: Engine, angle: Array) -> tuple[Array, Array]:
    """Return volume and its slope over the angle after top dead centre."""
    crank, area = engine.stroke / 2, np.pi / 4 * engine.bore**2
    root = np.sqrt(engine.rod**2 - (crank * np.sin(angle)) ** 2)
    down = crank * (1 - np.cos(angle)) + engine.rod - root
    slope = crank * np.sin(angle) * (1 + crank * np.cos(angle) / root)
    clearance = area * engine.stroke / (engine.compression - 1)
    return clearance + area * down, area * slope


def turn(engine: Engine, seconds: float, speed: float = 5.0, starter: bool = True) -> Turned:
    """Integrate from `speed` [rad/s]."""
    n = engine.cylinders
    offset = engine.top + 4 * np.pi * np.arange(n) / n
    leak = np.resize(np.asarray(engine.leak, float), n)
    heat = np.resize(np.asarray(engine.heat or (0.0,), float), n)

    def gas(angle: float, pressure: Array) -> tuple[Array, NDArray[np.bool_], Array, Array]:
        phase = (angle - offset + 2 * np.pi) % (4 * np.pi) - 2 * np.pi
        closed = (phase > -np.pi + engine.closes) & (phase < np.pi - engine.opens)
        volume, slope = _volume(engine, phase)
        held = np.where(closed, pressure, np.where(phase < 0, engine.manifold, 1.0) * ATMOSPHERE)
        return phase, closed, held, np.stack([volume, slope])

    def rates(_: float, state: Array) -> Array:
        angle, omega, pressure = state[0], state[1], state[2:]
        phase, closed, held, (volume, slope) = gas(angle, pressure)
        torque = float(np.sum((held - ATMOSPHERE) * slope))
        crank = engine.stroke / 2
        # Reciprocating masses, first harmonic of the connecting rod left out: m r^2 w^2 sin cos.
        mass = float(np.sum(engine.piston_mass * crank**2 * omega**2 * 0.5 * -np.sin(2 * phase))) if n > 2 else 0.0
        drive = engine.starter_torque * max(1 - omega / engine.starter_speed, 0.0) if starter else 0.0
        slowing = engine.friction + engine.drag * omega
        burn = heat * ATMOSPHERE * _burning(phase)
        loss = leak * np.maximum(held / ATMOSPHERE - 1, 0.0) * held
        change = np.where(closed, -GAMMA * held * slope * omega / volume + burn * omega - loss, 0.0)
        relax = np.where(closed, 0.0, (held - pressure) / 1e-3)
        return np.concatenate([[omega, (torque + mass + drive - slowing) / engine.inertia], change + relax])

    times = np.arange(0.0, seconds, 2e-4)
    begin = np.concatenate([[0.0, speed], np.full(n, ATMOSPHERE * engine.manifold)])
    solved = solve_ivp(rates, (0, times[-1]), begin, t_eval=times, method="LSODA", max_step=1e-3, rtol=1e-6, atol=1e-6)
    angle, omega, pressure = solved.y[0], solved.y[1], solved.y[2:].T
    current = engine.current_at_rest * np.maximum(1 - omega / engine.starter_speed, 0.0)
    work, peak = _compression(engine, angle, pressure, offset)
    return Turned(times, angle, omega, current, work, peak)


def _burning(phase: Array) -> Array:
    """Return the rate over the angle at which combustion raises the pressure: a half sine over 40 degrees after TDC."""
    width = np.radians(40.0)
    return np.where((phase > 0) & (phase < width), np.pi / (2 * width) * np.sin(np.pi * phase / width), 0.0)


def _compression(engine: Engine, angle: Array, pressure: Array, offset: Array) -> tuple[Array, Array]:
    phase = (angle[:, None] - offset + 2 * np.pi) % (4 * np.pi) - 2 * np.pi
    volume = _volume(engine, phase)[0]
    step, middle = np.diff(volume, axis=0), 0.5 * (pressure[1:] + pressure[:-1]) - ATMOSPHERE
    cycle = np.floor((angle[1:, None] - offset + 2 * np.pi) / (4 * np.pi))
    last = np.floor((angle[-1] - offset + 2 * np.pi) / (4 * np.pi)) - 1
    whole = (cycle >= 1) & (cycle <= last)
    rising = whole & (phase[1:] > -np.pi + engine.closes) & (phase[1:] < 0) & (step < 0)
    work = np.sum(np.where(rising, -middle * step, 0.0), axis=0) / np.maximum(last, 1)
    return work, np.max(np.where(whole, pressure[1:], 0.0), axis=0)
