"""Thermal elements in small networks, against heat balances worked by hand and closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from network.small_networks import network
from proveout.network import solve_steady
from proveout.network.laws import LAWS

AIR = 15.0
Made = tuple[str, str, tuple[str, ...], dict[str, float]]


def settled(*parts: Made) -> dict[str, float]:
    netlist, states = network([(n, k, nodes, v) for n, k, nodes, v in parts])
    solution = solve_steady(netlist, netlist.batch(states, 1), tolerance=1e-8)
    return {name: float(t) for name, t in zip(netlist.nodes, solution.effort[:, 0], strict=True)}


def test_an_engine_settles_where_what_it_gives_is_what_it_makes() -> None:
    found = settled(
        ("air", "surrounding_air", ("air", "gnd"), {"temperature": AIR}),
        ("heat", "combustion", ("metal", "gnd"), {"air_flow": 0.004, "speed": 20.0}),
        ("skin", "heat_path", ("metal", "air"), {"conductance": 80.0}),
    )
    assert found["metal"] == pytest.approx(AIR + (0.004 * 0.75e6 + 35.0 * 20.0) / 80.0, rel=1e-6)
    assert found["air"] == pytest.approx(AIR, abs=1e-3)  # the weather does not mind an engine


def test_a_thermostat_holds_the_engine_between_start_and_full_open() -> None:
    parts: tuple[Made, ...] = (
        ("air", "surrounding_air", ("air", "gnd"), {"temperature": AIR}),
        ("heat", "combustion", ("engine", "gnd"), {"air_flow": 0.012, "speed": 30.0}),
        ("pump", "coolant_pump", ("pumped", "gnd"), {"speed": 30.0}),
        ("valve", "thermostat", ("engine", "hose", "rad", "opens", "full", "leaks", "gnd", "pumped"), {}),
        ("skin", "heat_path", ("engine", "air"), {"conductance": 22.0}),
        ("hose", "heat_path", ("hose", "air"), {"conductance": 3.0}),
        ("radiator", "radiator", ("rad", "air"), {"road_speed": 14.0}),
    )
    found = settled(*parts)
    assert 88.0 < found["engine"] < 100.0
    assert (found["opens"], found["full"], found["leaks"]) == pytest.approx((88.0, 100.0, 0.4), abs=1e-2)
    # All heat leaves by radiator and hose: A (1 - exp(-U/A)) with A = 25 + 90 x 14 W/K.
    stream = 25.0 + 90.0 * 14.0
    away = stream * (1.0 - np.exp(-1000.0 / stream)) * (found["rad"] - AIR) + 3.0 * (found["hose"] - AIR)
    away += 22.0 * (found["engine"] - AIR)
    assert away == pytest.approx(0.012 * 0.75e6 + 35.0 * 30.0, rel=1e-4)


def test_the_heater_of_a_thermostat_opens_it_earlier_by_its_power() -> None:
    ends = ("p", "gnd", "engine", "hose", "rad", "opens", "full", "leaks", "gnd", "lift")
    for volts in (0.0, 12.0):
        found = settled(
            ("supply", "battery", ("p", "gnd"), {"emf": volts, "resistance": 1e-6}),
            ("bath", "surrounding_air", ("engine", "gnd"), {"temperature": 90.0}),
            ("valve", "heated_thermostat", ends, {"speed": 0.0}),
            ("hose", "heat_path", ("hose", "engine"), {}),
            ("rad", "heat_path", ("rad", "engine"), {}),
        )
        z = min(max((90.0 - (103.0 - 2.0 * volts**2 / 13.5)) / 12.0, 0.0), 1.0)
        assert found["lift"] == pytest.approx(z * z * (3.0 - 2.0 * z), abs=1e-4)


def test_a_slider_follows_its_valve() -> None:
    found = settled(
        ("supply", "battery", ("r", "gnd"), {"emf": 5.0, "resistance": 1e-6}),
        ("lift", "surrounding_air", ("lift", "gnd"), {"temperature": 0.5}),
        ("slider", "valve_position", ("r", "s", "gnd", "lift", "gnd"), {}),
    )
    assert found["s"] == pytest.approx(5.0 * (0.15 + 0.7 * 0.5), rel=1e-3)


def test_a_sensor_that_reads_low_shows_all_of_it_lower() -> None:
    found = settled(
        ("bath", "surrounding_air", ("coolant", "gnd"), {"temperature": 60.0}),
        ("mark", "surrounding_air", ("opening", "gnd"), {"temperature": 88.0}),
        ("sensor", "coolant_sensor", ("shown", "coolant", "seen", "opening", "gnd"), {"below": 15.0}),
    )
    assert (found["shown"], found["seen"]) == pytest.approx((45.0, 73.0), abs=1e-3)


def test_hot_air_at_the_vents_is_the_heat_over_the_blowers_stream() -> None:
    values = {"passage": 1.0e-3, "transfer": 60.0, "blower": 40.0}
    found = settled(
        ("bath", "surrounding_air", ("coolant", "gnd"), {"temperature": 88.0}),
        ("cabin", "surrounding_air", ("cabin", "gnd"), {"temperature": AIR}),
        ("pump", "coolant_pump", ("pumped", "gnd"), {"speed": 30.0}),
        ("core", "heater_core", ("coolant", "vents", "cabin", "pumped", "gnd"), values),
    )
    water, blower = 1.0e-3 * np.sqrt(2.0e4) * 3560.0, 40.0
    units, ratio = 60.0 / blower, blower / water
    effect = 1.0 - np.exp(units**0.22 / ratio * (np.exp(-ratio * units**0.78) - 1.0))  # Incropera and DeWitt, 11.32
    assert found["vents"] == pytest.approx(AIR + effect * (88.0 - AIR), rel=1e-4)


def test_the_valve_lets_no_heat_back_but_by_its_leak() -> None:
    wax = LAWS["wax"]
    p = np.array([[2000.0], [0.01], [88.0], [12.0]])
    assert float(wax.flow(np.array([[95.0], [99.0]]), p)[0]) == pytest.approx(2000.0 * 0.01 * -4.0)
    assert float(wax.flow(np.array([[100.0], [40.0]]), p)[0]) == pytest.approx(2000.0 * 60.0)
