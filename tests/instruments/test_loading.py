"""What a meter does to the circuit it is put on."""

import numpy as np
import pytest

from proveout.instruments.loading import (
    autorange,
    burdened_current,
    divider,
    loaded_voltage,
    parallel,
    resistance_from_voltage,
    shown_resistance,
)


def test_a_ten_megohm_meter_on_a_megohm_divider_by_hand() -> None:
    # By hand: 1 Mohm beside 10 Mohm is 0.90909 Mohm; 10 V x 0.90909 / 1.90909 = 4.7619 V, not the 5 V of the divider.
    by_nodes = divider(10.0, 1e6, parallel(1e6, 10e6))
    assert by_nodes == pytest.approx(4.7619, abs=1e-4)
    # The same by Thevenin: 5 V behind 0.5 Mohm.
    assert loaded_voltage(5.0, 0.5e6, 10e6) == pytest.approx(4.7619, abs=1e-4)


def test_a_low_impedance_meter_hides_a_ghost_voltage() -> None:
    # By hand: 12 V behind 10 Mohm of leakage: 6 V on 10 Mohm, 12 x 3 / 10003 = 3.6 mV on 3 kohm.
    np.testing.assert_allclose(loaded_voltage(12.0, 10e6, [10e6, 3e3]), [6.0, 12.0 * 3.0 / 10003.0])


def test_an_open_wire_reads_nothing_and_a_perfect_meter_all() -> None:
    assert loaded_voltage(12.0, np.inf, 10e6) == 0.0
    assert loaded_voltage(12.0, 50.0, np.inf) == 12.0


def test_the_shunt_lowers_the_current_that_it_measures() -> None:
    # By hand: 12 V through 100 ohm is 120 mA; with 2 ohm of shunt 12 / 102 = 117.6 mA.
    assert burdened_current(12.0, 100.0, 2.0) == pytest.approx(0.117647, abs=1e-6)


@pytest.mark.parametrize("resistance", [0.0, 0.3, 100.0, 1.2e4, 4.7e6])
def test_an_ohmmeter_on_a_dead_circuit_shows_its_resistance_and_its_leads(resistance: float) -> None:
    assert shown_resistance(resistance, 1.0, 10e3) == pytest.approx(resistance, rel=1e-9)
    assert shown_resistance(resistance, 1.0, 10e3, lead_resistance=0.2) == pytest.approx(resistance + 0.2, rel=1e-9)


def test_fifty_millivolts_on_the_circuit_falsify_an_ohms_reading() -> None:
    # By hand: 100 ohm with 50 mV, meter 1 V behind 1 kohm: V = (1 x 100 + 0.05 x 1000) / 1100 = 0.13636 V;
    # R = 1000 x 0.13636 / 0.86364 = 157.9 ohm. Reversed: V = 0.04545 V, R = 47.6 ohm.
    aiding, opposing = shown_resistance(100.0, 1.0, 1000.0, open_voltage=[0.05, -0.05])
    assert aiding == pytest.approx(157.9, abs=0.05)
    assert opposing == pytest.approx(47.6, abs=0.05)


def test_an_open_circuit_or_a_live_one_is_over_limit_or_negative() -> None:
    np.testing.assert_array_equal(resistance_from_voltage([1.0, 12.0], 1.0, 1000.0), [np.inf, np.inf])
    assert resistance_from_voltage(-0.5, 1.0, 1000.0) < 0.0


def test_auto_ranging_settles_on_the_lowest_range_that_holds_its_own_value() -> None:
    # A junction shows 900 ohm to the strong test current of the low range and more to weaker ones.
    by_range = [[900.0, 4000.0, 30e3], [100.0, 100.0, 100.0], [np.inf, np.inf, np.inf]]
    value, index, over = autorange(by_range, [600.0, 6e3, 60e3])
    np.testing.assert_array_equal(value, [4000.0, 100.0, np.inf])
    np.testing.assert_array_equal(index, [1, 0, 2])
    np.testing.assert_array_equal(over, [False, False, True])


def test_an_array_gives_what_its_values_give_alone() -> None:
    resistances = np.geomspace(0.1, 1e7, 9)
    alone = [float(shown_resistance(r, 1.0, 1e4, open_voltage=0.01)) for r in resistances]
    np.testing.assert_array_equal(shown_resistance(resistances, 1.0, 1e4, open_voltage=0.01), alone)
