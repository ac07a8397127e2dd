"""The lumped warm-up against the closed form and against scipy's integrators."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from diagnosis.warmup.drives import steady_drive
from proveout.diagnosis.warmup.equations import METAL, NAMES, RADIATOR, SENSOR_LAG, WATER, sensor_traces
from proveout.network.thermal import flow_share, mixed_effectiveness, opening_after

VALUES = {
    "heat_air": 0.75e6,
    "heat_turn": 35.0,
    "heat_pedal": 0.0,
    "metal_to_coolant": 900.0,
    "loss": 50.0,
    "loss_road": 1.0,
    "pump": 0.03,
    "radiator": 1.0,
    "metal_start": 0.0,
    "leakage": 0.0,
    "opening": np.inf,
    "span": 12.0,
    "wax_lag": 15.0,
    "play": 3.0,
}


def parameters(**changed: float) -> np.ndarray:
    return np.array([[{**VALUES, **changed}[name] for name in NAMES]])


def test_with_the_valve_shut_two_masses_warm_up_as_the_matrix_exponential_says() -> None:
    drive = steady_drive(900, air=0.01, speed=30.0, road=10.0, ambient=280.0, start=280.0)
    heat, lost, between = 0.01 * 0.75e6 + 35.0 * 30.0, 50.0 + 10.0, 900.0
    system = np.array(
        [
            [-between / METAL, between / METAL, 0.0, heat / METAL],
            [between / WATER, -(between + lost) / WATER, 0.0, 0.0],
            [0.0, 1.0 / SENSOR_LAG, -1.0 / SENSOR_LAG, 0.0],
            [0.0, 0.0, 0.0, 0.0],
        ]
    )
    found = sensor_traces(drive, parameters())[0]
    for second in (60, 300, 900):
        wanted = 280.0 + (expm(system * second) @ [0.0, 0.0, 0.0, 1.0])[2]
        assert found[second - 1] == pytest.approx(wanted, abs=0.2)  # backward steps of 1 s: late by half a step each


def test_an_opening_valve_is_that_of_scipy_integrator_and_of_the_wax_module() -> None:
    drive = steady_drive(1500, air=0.008, speed=25.0, road=8.0, ambient=290.0, start=340.0)
    values = {**VALUES, "opening": 360.0, "leakage": 0.02}
    heat = 0.008 * values["heat_air"] + values["heat_turn"] * 25.0
    full, stream = 0.03 * 25.0 * 3560.0, 25.0 + 90.0 * 8.0
    away = stream * float(mixed_effectiveness(1000.0 / stream))

    def slope(_: float, y: np.ndarray) -> list[float]:
        metal, coolant, radiator, wax, sensor = y
        opening = opening_after(0.0, wax, 360.0, 372.0, 3.0)  # rising: this drive never cools down
        flow = full * float(flow_share(opening, 0.02))
        given = 900.0 * (metal - coolant)
        return [
            (heat - given) / METAL,
            (given - flow * (coolant - radiator) - 58.0 * (coolant - 290.0)) / WATER,
            (flow * (coolant - radiator) - away * (radiator - 290.0)) / RADIATOR,
            (coolant - wax) / 15.0,
            (coolant - sensor) / SENSOR_LAG,
        ]

    found = sensor_traces(drive, parameters(opening=360.0, leakage=0.02))[0]
    rising = int(np.argmax(found))
    truth = solve_ivp(slope, (0.0, 1500.0), [340.0, 340.0, 290.0, 340.0, 340.0], "LSODA", rtol=1e-8, max_step=1.0,
                      t_eval=[100.0, 200.0, float(rising - 5)])  # fmt: skip
    for time, wanted in zip(truth.t, truth.y[4], strict=True):
        assert found[int(time) - 1] == pytest.approx(wanted, abs=0.3)


def test_many_sets_of_parameters_at_once_are_each_alone() -> None:
    drive = steady_drive(400, air=0.01, speed=30.0, road=10.0, ambient=280.0, start=280.0)
    both = np.vstack([parameters(), parameters(leakage=0.2, opening=350.0)])
    together = sensor_traces(drive, both, 5)
    assert np.array_equal(together[1], sensor_traces(drive, both[1:], 5)[0])
    assert together.shape == (2, 80)


def test_a_leaking_valve_warms_up_more_slowly() -> None:
    drive = steady_drive(600, air=0.01, speed=30.0, road=15.0, ambient=270.0, start=270.0)
    tight, leaking = (sensor_traces(drive, parameters(leakage=leak))[0, -1] for leak in (0.0, 0.2))
    assert leaking < tight - 10.0
