"""The standard atmosphere against the tables of 1976 and two independent packages."""

from __future__ import annotations

import numpy as np
import pytest
from ambiance import Atmosphere
from fluids.atmosphere import ATMOSPHERE_1976

from proveout.network.atmosphere import SEA_LEVEL, altitude_of_pressure, pressure_at, temperature_at

ALTITUDES = [0.0, 100.0, 1000.0, 2000.0, 3000.0, 5000.0, 9000.0, 12_000.0]


@pytest.mark.parametrize(("metres", "pascal"), [(1000.0, 89_876.28), (2000.0, 79_501.41), (3000.0, 70_121.14)])
def test_pressures_of_the_u_s_standard_atmosphere(metres: float, pascal: float) -> None:
    """U.S. Standard Atmosphere 1976, as two packages give it (computed)."""
    assert float(pressure_at(metres)) == pytest.approx(pascal, abs=0.05)


@pytest.mark.parametrize("metres", ALTITUDES)
def test_it_agrees_with_an_implementation_of_iso_2533(metres: float) -> None:
    """The package ambiance follows the ICAO manual, which is ISO 2533 below 20 km; its gas constant differs in 1e-6."""
    other = Atmosphere(metres)
    assert float(pressure_at(metres)) == pytest.approx(float(other.pressure[0]), rel=4e-6)
    assert float(temperature_at(metres)) == pytest.approx(float(other.temperature[0]), abs=2e-3)


@pytest.mark.parametrize("metres", ALTITUDES)
def test_it_agrees_with_an_implementation_of_the_tables_of_1976(metres: float) -> None:
    other = ATMOSPHERE_1976(metres)
    assert float(pressure_at(metres)) == pytest.approx(other.P, rel=2e-6)
    assert float(temperature_at(metres)) == pytest.approx(other.T, abs=2e-3)


def test_altitude_and_pressure_are_each_other_s_inverse() -> None:
    np.testing.assert_allclose(altitude_of_pressure(pressure_at(np.array(ALTITUDES))), ALTITUDES, atol=1e-6)


def test_an_inch_of_mercury_is_lost_with_each_thousand_feet() -> None:
    """Common practice, for low altitudes."""
    lost = (SEA_LEVEL - float(pressure_at(304.8))) / 3386.389
    assert lost == pytest.approx(1.0, abs=0.1)
