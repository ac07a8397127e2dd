"""A lamp's filament."""

from __future__ import annotations

import numpy as np
import pytest

from network.small_networks import IDEAL, Part, network
from proveout.network import PartState, flow_through, solve_steady


def test_a_filament_is_ten_times_as_resistive_lit_as_cold() -> None:
    """The factor is common practice for tungsten lamps; 5 W at 12 V is 28.8 ohm by Joule's law."""
    parts: list[Part] = [
        ("battery", "battery", ("plus", "gnd"), {"emf": 12.0, **IDEAL}),
        ("lamp", "lamp", ("plus", "gnd"), {}),
    ]
    netlist, states = network(parts)
    batch = netlist.batch(states, 2)
    netlist.vary(batch, 0, slice(1, 2), PartState({"emf": 1e-4, **IDEAL}))
    solution = solve_steady(netlist, batch)
    lit, cold = np.array([12.0, 1e-4]) / flow_through(netlist, solution, netlist.part["lamp"])
    assert lit == pytest.approx(144.0 / 5.0, rel=1e-9)
    assert lit / cold == pytest.approx(10.0, rel=1e-4)


def test_well_above_its_knee_its_current_grows_as_the_voltage_to_the_power_of_0_55() -> None:
    """Common practice for tungsten lamps."""
    parts: list[Part] = [
        ("battery", "battery", ("plus", "gnd"), IDEAL),
        ("lamp", "lamp", ("plus", "gnd"), {}),
    ]
    netlist, states = network(parts)
    states[0] = PartState({"emf": np.array([9.0, 12.0, 15.0]), **IDEAL})
    current = flow_through(netlist, solve_steady(netlist, netlist.batch(states, 3)), 1)
    power = np.diff(np.log(current)) / np.diff(np.log([9.0, 12.0, 15.0]))
    np.testing.assert_allclose(power, 0.55, atol=0.001)
