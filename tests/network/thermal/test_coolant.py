"""The coolant against CoolProp, IAPWS-IF97 and facts of the trade."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97

from proveout.errors import InputError
from proveout.network.thermal import boiling_point, density, heat_capacity, saturation_pressure, saturation_temperature

ZERO = 273.15
SHARES = (0.0, 0.2, 0.35, 0.5, 0.6)
CELSIUS = (5.0, 20.0, 60.0, 95.0)


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("celsius", CELSIUS)
def test_density_and_heat_capacity_are_those_of_coolprop(share: float, celsius: float) -> None:
    fluid = f"INCOMP::MEG[{share}]"
    kelvin = celsius + ZERO
    assert float(density(kelvin, share)) == pytest.approx(PropsSI("D", "T", kelvin, "P", 3e5, fluid), rel=0.0012)
    assert float(heat_capacity(kelvin, share)) == pytest.approx(PropsSI("C", "T", kelvin, "P", 3e5, fluid), rel=0.0027)


def test_half_glycol_weighs_what_the_tables_say() -> None:
    assert float(density(20.0 + ZERO, 0.5)) == pytest.approx(1064.93, rel=0.0012)  # CoolProp 8.0


@pytest.mark.parametrize("kelvin", [280.0, 330.0, 373.15, 420.0, 600.0])
def test_vapour_pressure_of_water_is_that_of_iapws_if97(kelvin: float) -> None:
    wanted = 1e6 * IAPWS97(T=kelvin, x=0.0).P
    assert float(saturation_pressure(kelvin)) == pytest.approx(wanted, rel=1e-9)
    assert float(saturation_temperature(wanted)) == pytest.approx(kelvin, abs=1e-6)


def test_water_boils_at_120_73_celsius_under_a_cap_of_102_kilopascal() -> None:
    # CoolProp 8.0 and IAPWS-IF97 agree on this value at 203.325 kPa.
    assert float(boiling_point(203_325.0, 0.0)) - ZERO == pytest.approx(120.73, abs=0.01)
    assert PropsSI("T", "P", 203_325.0, "Q", 0, "Water") - ZERO == pytest.approx(120.73, abs=0.01)


def test_half_glycol_boils_at_225_fahrenheit_open_and_265_under_15_psi() -> None:
    # Common practice: 50/50 coolant boils near 225 F open and near 265 F under a 15 psi cap.
    atmosphere, cap = 101_325.0, 15 * 6894.757
    open_f, capped_f = ((float(boiling_point(p, 0.5)) - ZERO) * 1.8 + 32.0 for p in (atmosphere, atmosphere + cap))
    assert open_f == pytest.approx(225.0, abs=2.0)
    assert capped_f == pytest.approx(265.0, abs=2.0)


def test_a_pressure_that_is_not_absolute_is_refused() -> None:
    with pytest.raises(InputError, match="absolute pressure is 1 Pa"):
        boiling_point(1.0)
    with pytest.raises(InputError, match="glycol mass fraction is 50"):
        density(300.0, 50.0)


def test_many_temperatures_at_once_are_each_alone() -> None:
    kelvin = np.array([280.0, 350.0])
    together = heat_capacity(kelvin, 0.4)
    assert together.tolist() == [float(heat_capacity(k, 0.4)) for k in kelvin]
