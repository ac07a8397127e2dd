"""The warm-up of an engine as five lumped temperatures, stepped for many sets of parameters at once.

    C_e dT_e/dt = Q - G_ec (T_e - T_c)                                             metal, oil with it
    C_c dT_c/dt = G_ec (T_e - T_c) - s m c (T_c - T_r) - (g_0 + g_1 v)(T_c - T_a)  coolant
    C_r dT_r/dt = s m c (T_c - T_r) - A (1 - exp(-U/A)) (T_r - T_a)                radiator, one temperature
    t_w dT_w/dt = T_c - T_w                                                        wax of the thermostat
    t_s dT_s/dt = T_c - T_s                                                        sensor

    Q = a x air + b x speed + p x pedal x speed      heat that reaches the metal [W]
    m = pump x speed                                 flow through the radiator with the valve full open [kg/s]
    s = leakage + (1 - leakage) x opening(T_w)       share of that flow (`network.thermal.wax`)
    A, U in proportion to the radiator's size        air stream and heat transfer [W/K] (`network.thermal.exchanger`)

Only ratios to the heat capacities can be seen in a temperature trace, so these stand fixed at those of a middling
engine and the rest is known in proportion to them. Steps are those of the backward Euler rule, metal and coolant
together, the others in their turn, which holds for a full-open valve too, whose exchange is quicker than the step.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from proveout.diagnosis.warmup.drive import STEP, Drive

__all__ = ["METAL", "NAMES", "RADIATOR", "WATER", "sensor_traces"]

Array = NDArray[np.float64]

METAL, WATER, RADIATOR = 60.0e3, 18.0e3, 12.0e3  # J/K: a 1.5 litre engine with 5 litres of coolant, from memory
HEAT_CAPACITY = 3560.0  # J/(kg K): half glycol at 80 C (`network.thermal.coolant`)
SENSOR_LAG = 5.0  # s, from memory: 3 to 10
CALM_AIR, AIR, TRANSFER = 25.0, 90.0, 1000.0  # W/K, W/K for each m/s, W/K
FAN_AIR, FAN_ON, FAN_OFF = 900.0, 371.0, 366.0  # W/K, K, K, from memory
NAMES = (
    "heat_air",
    "heat_turn",
    "heat_pedal",
    "metal_to_coolant",
    "loss",
    "loss_road",
    "pump",
    "radiator",
    "metal_start",
    "leakage",
    "opening",
    "span",
    "wax_lag",
    "play",
)


def sensor_traces(drive: Drive, parameters: Array, stride: int = 1) -> Array:
    """Return what the sensor would say under each set of parameters.

    Parameters
    ----------
    drive : Drive
    parameters : (column, parameter) float
        In the order of `NAMES`: J/kg, J, J, W/K, W/K, W/K for each m/s, kg for each turn, 1, K (metal less coolant at
        the start), 1, K, K, s, K. An opening temperature of infinity is a valve that stays shut.
    stride : int
        Steps over which the trace is averaged.

    Returns
    -------
    (column, row // stride) float [K]
    """
    restart = np.full(drive.coolant.size, np.nan)
    for row in drive.resumed:
        restart[row] = drive.coolant[row]
    air = CALM_AIR + AIR * drive.road
    inputs = np.stack([drive.air, drive.speed, drive.pedal, drive.road, drive.ambient, air])
    first = float(drive.coolant[np.isfinite(drive.coolant)][0])
    return _traces(np.ascontiguousarray(inputs), restart, first, np.ascontiguousarray(parameters), stride)


@njit(cache=True)
def _traces(inputs: Array, restart: Array, first: float, parameters: Array, stride: int) -> Array:
    rows, columns = inputs.shape[1], parameters.shape[0]
    out = np.empty((columns, rows // stride))
    dt = STEP
    for k in range(columns):
        a, b, p, to_coolant, loss, loss_road, pump, size, start, leak, opens, span, wax_lag, play = parameters[k]
        coolant, metal, wax, sensor, radiator = first, first + start, first, first, inputs[4, 0]
        fan, valve, total = False, min(max((wax - opens) / span, 0.0), 1.0), 0.0
        for i in range(rows):
            if not np.isnan(restart[i]):
                shift = restart[i] - sensor
                metal, coolant, wax, sensor = metal + shift, coolant + shift, wax + shift, sensor + shift
            speed, road, ambient, stream = inputs[1, i], inputs[3, i], inputs[4, i], size * inputs[5, i]
            fan = coolant > FAN_ON or (fan and coolant > FAN_OFF)
            if fan:
                stream += size * FAN_AIR
            heat = a * inputs[0, i] + (b + p * inputs[2, i]) * speed
            low, high = (wax - opens) / span, (wax + play - opens) / span
            valve = min(max(valve, min(max(low, 0.0), 1.0)), min(max(high, 0.0), 1.0))
            flow = (leak + (1.0 - leak) * valve) * pump * speed * HEAT_CAPACITY
            away = stream * -np.expm1(-size * TRANSFER / stream)
            lost = loss + loss_road * road
            alone = (METAL * metal + dt * heat) / (METAL + dt * to_coolant)
            share = dt * to_coolant / (METAL + dt * to_coolant)
            held = WATER + dt * (to_coolant * (1.0 - share) + flow + lost)
            coolant = (WATER * coolant + dt * (to_coolant * alone + flow * radiator + lost * ambient)) / held
            metal = alone + share * coolant
            radiator = (RADIATOR * radiator + dt * (flow * coolant + away * ambient)) / (RADIATOR + dt * (flow + away))
            wax = (wax_lag * wax + dt * coolant) / (wax_lag + dt)
            sensor = (SENSOR_LAG * sensor + dt * coolant) / (SENSOR_LAG + dt)
            total += sensor
            if (i + 1) % stride == 0:
                out[k, (i + 1) // stride - 1] = total / stride
                total = 0.0
    return out
