"""A vehicle that warms up: truth for the fit, by scipy's solve_ivp on equations of its own.

It is richer than what the product fits: oil has its own temperature, the share of the fuel's heat that reaches the
metal falls with load, the radiator is a crossflow exchanger, the heater core one too, the ram air is not in proportion
to the speed, and the valve is moved by a wax that follows with its own delay. All figures are invented, of usual sizes
(from memory). A drive is a chain of stops and legs drawn from a generator.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

__all__ = ["Drawn", "Vehicle", "draw_drive", "draw_vehicle", "log_of", "simulate"]

Array = NDArray[np.float64]

LOWER_HEATING = 43.0e6  # J/kg of petrol
STOICHIOMETRIC = 14.7
AIR_HEAT = 1005.0
COOLANT_HEAT = 3500.0
COUNT = 1.0  # K, the step of the standard coolant temperature


@dataclass(frozen=True)
class Vehicle:
    """One vehicle in SI units; temperatures in degree Celsius."""

    displacement: float = 1.5e-3
    metal: float = 55.0e3
    oil: float = 8.0e3
    coolant: float = 17.0e3
    radiator: float = 11.0e3
    metal_to_coolant: float = 900.0
    metal_to_oil: float = 120.0
    metal_to_air: float = 12.0
    share: float = 0.30
    share_falls: float = 0.08
    friction: float = 35.0
    pump: float = 0.03
    core: float = 1200.0
    front: float = 0.15
    heater_transfer: float = 250.0
    heater_air: float = 0.06
    starts: float = 88.0
    full: float = 100.0
    leakage: float = 0.005
    hysteresis: float = 3.0
    wax_lag: float = 15.0
    sensor_lag: float = 5.0
    sensor_offset: float = 0.0


@dataclass(frozen=True)
class Drawn:
    """A drive on a clock of one second: time [s], road [m/s], speed [rev/s], load 0 to 1, air [kg/s], ambient [°C]."""

    time: Array
    road: Array
    speed: Array
    load: Array
    air: Array
    ambient: float


def draw_vehicle(rng: np.random.Generator, starts: float, leakage: float = 0.005) -> Vehicle:
    """Draw a vehicle about the usual one, with the thermostat given [°C, 1]."""
    usual = Vehicle()
    spread = {
        "metal": 0.2, "oil": 0.3, "coolant": 0.2, "radiator": 0.25, "metal_to_coolant": 0.3, "metal_to_oil": 0.3,
        "metal_to_air": 0.4, "share": 0.12, "friction": 0.3, "pump": 0.25, "core": 0.25, "front": 0.3,
        "heater_transfer": 0.3, "heater_air": 0.5, "wax_lag": 0.25, "sensor_lag": 0.25,
    }  # fmt: skip
    drawn = {name: getattr(usual, name) * float(np.exp(sd * rng.standard_normal())) for name, sd in spread.items()}
    span = float(rng.uniform(9.0, 15.0))
    return replace(usual, **drawn, starts=starts, full=starts + span, leakage=leakage)


def draw_drive(rng: np.random.Generator, seconds: int, ambient: float, displacement: float = 1.5e-3) -> Drawn:
    """Draw a drive of stops and legs of 20 to 110 km/h."""
    target, second = np.zeros(seconds), 20
    while second < seconds:
        leg, stop = int(rng.uniform(40, 240)), int(rng.uniform(5, 45))
        target[second : second + leg] = rng.choice([30, 50, 50, 70, 80, 100]) / 3.6 * rng.uniform(0.85, 1.15)
        second += leg + stop
    road = np.zeros(seconds)
    for k in range(1, seconds):
        road[k] = road[k - 1] + np.clip(target[k] - road[k - 1], -1.8, 1.2)
    pull = np.diff(road, prepend=0.0)
    power = np.maximum(1400.0 * pull * road + 160.0 * road + 0.42 * road**3, 0.0) / 0.9 + 600.0
    speed = np.where(road > 2.0, 20.0 + 12.0 * np.minimum(road / 20.0, 1.2) + 6.0 * np.clip(pull, 0, 1.2), 13.5)
    fuel = power / (0.26 * LOWER_HEATING) + 5.5e-6 * speed
    air = fuel * STOICHIOMETRIC
    full = 0.9 * 1.2 * displacement * speed / 2.0
    load = np.clip(air / full, 0.05, 1.0)
    return Drawn(np.arange(seconds, dtype=float), road, speed, load, load * full, ambient)


def simulate(vehicle: Vehicle, drive: Drawn, start: float) -> Array:
    """Return metal, oil, coolant, radiator, wax, sensor [°C] and opening at each second, (7, row)."""
    v = vehicle

    def slope(t: float, y: Array) -> list[float]:
        metal, oil, coolant, radiator, wax, sensor, opening = y
        k = min(int(t), drive.time.size - 1)
        road, speed, load, air = drive.road[k], drive.speed[k], drive.load[k], drive.air[k]
        share = v.share * (1.0 + v.share_falls) - v.share * v.share_falls * 2.0 * load
        combustion = air / STOICHIOMETRIC * LOWER_HEATING * share
        friction = v.friction * speed
        flow = (v.leakage + (1.0 - v.leakage) * opening) * v.pump * speed * COOLANT_HEAT
        fan = 0.7 / (1.0 + np.exp(-(coolant - 98.0) / 0.5))
        stream = 1.2 * (0.02 + v.front * 0.5 * road**0.9 + fan) * AIR_HEAT
        least, most = min(max(flow, 1e-6), stream), max(flow, stream)
        units, ratio = v.core / least, least / most
        effect = 1.0 - np.exp(units**0.22 / ratio * (np.exp(-ratio * units**0.78) - 1.0))
        given = effect * least * (0.5 * (coolant + radiator) - drive.ambient) if flow > 1e-6 else 0.0
        heater = v.heater_air * AIR_HEAT * (1.0 - np.exp(-v.heater_transfer / (v.heater_air * AIR_HEAT)))
        low = np.clip((wax - v.starts) / (v.full - v.starts), 0.0, 1.0)
        high = np.clip((wax + v.hysteresis - v.starts) / (v.full - v.starts), 0.0, 1.0)
        passed = v.metal_to_coolant * (metal - coolant)
        exchanged = flow * (coolant - radiator)
        return [
            (combustion - passed - v.metal_to_oil * (metal - oil) - v.metal_to_air * (metal - drive.ambient)) / v.metal,
            (friction + v.metal_to_oil * (metal - oil)) / v.oil,
            (passed - exchanged - heater * (coolant - drive.ambient)) / v.coolant,
            (exchanged - given - 8.0 * (radiator - drive.ambient)) / v.radiator,
            (coolant - wax) / v.wax_lag,
            (coolant - sensor) / v.sensor_lag,
            (np.clip(opening, low, high) - opening) / 2.0,
        ]

    state = [start, start, start, drive.ambient, start, start, 0.0]
    found = solve_ivp(
        slope, (0.0, drive.time[-1]), state, "LSODA", t_eval=drive.time, max_step=4.0, rtol=1e-5, atol=1e-4
    )
    if not found.success:
        raise RuntimeError(found.message)
    return np.asarray(found.y)


def log_of(vehicle: Vehicle, drive: Drawn, start: float, rng: np.random.Generator) -> dict[str, Array]:
    """Return what a logger would have: coolant in whole degrees, air with a scale error and noise, the rest."""
    sensor = simulate(vehicle, drive, start)[5] + vehicle.sensor_offset
    coolant = np.round((sensor + 0.15 * rng.standard_normal(sensor.size)) / COUNT) * COUNT
    air = drive.air * (1.0 + 0.04 * rng.standard_normal()) * (1.0 + 0.02 * rng.standard_normal(drive.air.size))
    ambient = np.full(sensor.size, np.round(drive.ambient + rng.standard_normal()))
    return {
        "coolant": coolant + 273.15,
        "air": air,
        "speed": drive.speed,
        "pedal": drive.load,
        "road": drive.road,
        "ambient": ambient + 273.15,
    }
