"""Thermistor curves against published tables."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.small_networks import IDEAL, Part, voltages
from proveout.network.elements.thermistor import beta_resistance, steinhart_resistance, steinhart_temperature
from proveout.network.laws import Array

MODULE = (1.129148e-3, 2.34125e-4, 8.76741e-8)
"""Steinhart-Hart constants of a 10 kilohm thermistor module's data sheet."""

TABLE = np.array([[0, 32128], [10, 19549], [20, 12262], [25, 9814], [30, 7908], [50, 3542]], dtype=float)
"""Temperature [C] and resistance [ohm]: LDT-5525 temperature controller manual, Appendix A, Table A.1, less 40 C."""


def arrays(constants: tuple[float, float, float]) -> tuple[Array, Array, Array]:
    a, b, c = (np.asarray(x) for x in constants)
    return a, b, c


def test_the_module_s_constants_give_25_c_at_10_kilohm() -> None:
    assert steinhart_temperature(np.asarray(10e3), *arrays(MODULE)) == pytest.approx(24.9997, abs=5e-5)


def test_three_terms_hold_the_controller_manual_s_table() -> None:
    """Least squares in the three constants; every row within 0.0015 K, back to its resistance within 0.01 %."""
    log = np.log(TABLE[:, 1])
    terms = np.stack([np.ones_like(log), log, log**3], axis=1)
    fit = np.linalg.lstsq(terms, 1.0 / (TABLE[:, 0] + 273.15), rcond=None)[0]
    constants = arrays((fit[0], fit[1], fit[2]))
    np.testing.assert_allclose(steinhart_temperature(TABLE[:, 1], *constants), TABLE[:, 0], atol=0.0015)
    np.testing.assert_allclose(steinhart_resistance(TABLE[:, 0], *constants), TABLE[:, 1], rtol=1e-4)


@given(st.floats(-40.0, 150.0))
def test_resistance_and_temperature_are_inverse_to_each_other(temperature: float) -> None:
    resistance = steinhart_resistance(np.asarray(temperature), *arrays(MODULE))
    assert steinhart_temperature(resistance, *arrays(MODULE)) == pytest.approx(temperature, abs=1e-6)


def test_beta_is_the_slope_of_log_resistance_by_inverse_temperature() -> None:
    """The definition: beta = ln(R1/R2) / (1/T1 - 1/T2), and the resistance at 25 C."""
    t = np.array([25.0, 85.0])
    resistance = beta_resistance(t, np.asarray(10e3), np.asarray(3435.0))
    assert resistance[0] == pytest.approx(10e3)
    assert np.log(resistance[0] / resistance[1]) / (1 / 298.15 - 1 / 358.15) == pytest.approx(3435.0)


@pytest.mark.parametrize(("ohms", "volts"), [(2500.0, 3.571), (323.0, 1.221), (187.0, 0.788)])
def test_a_coolant_sensor_s_voltage_behind_its_pull_up(ohms: float, volts: float) -> None:
    """A secondary help page: 2500 ohm at 20 C, 323 at 80 C, 187 at 100 C, with 1 kilohm to 5 V."""
    parts: list[Part] = [
        ("rail", "battery", ("plus", "gnd"), {"emf": 5.0, **IDEAL}),
        ("pull_up", "resistor", ("plus", "sense"), {"resistance": 1000.0}),
        ("sensor", "thermistor", ("sense", "gnd"), {"temperature": 25.0, "resistance_25": ohms}),
    ]
    assert voltages(parts)["sense"] == pytest.approx(volts, abs=0.0006)
