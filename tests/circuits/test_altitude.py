"""A shop's altitude drives the air of a circuit."""

from __future__ import annotations

import pytest
from ambiance import Atmosphere

from proveout.circuits import ready_circuit
from proveout.circuits.altitude import air_pressure, altitude_of, at_altitude
from proveout.errors import InputError

BOOSTER = ready_circuit("vacuum-booster")


def test_the_air_is_thinner_higher_up() -> None:
    """U.S. Standard Atmosphere 1976, as the package ambiance has it at 1500 m."""
    high = at_altitude(BOOSTER, 1500.0)
    assert altitude_of(high) == 1500.0
    assert air_pressure(BOOSTER) == pytest.approx(101_325.0)
    assert air_pressure(high) == pytest.approx(float(Atmosphere(1500.0).pressure[0]), abs=1.0)


def test_a_circuit_of_wires_knows_no_altitude() -> None:
    lamp = ready_circuit("fuel-pump")
    assert at_altitude(lamp, 1500.0) is lamp
    assert air_pressure(lamp) is None


def test_an_altitude_in_the_wrong_unit_is_refused() -> None:
    with pytest.raises(InputError, match=r"15000 m is no workshop's.*m or ft"):
        at_altitude(BOOSTER, 15_000.0)
