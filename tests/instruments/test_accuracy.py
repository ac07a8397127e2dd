"""Accuracy limits become standard uncertainties as the GUM says."""

import numpy as np
import pytest

from proveout.instruments import Function, default_meter
from proveout.instruments.accuracy import limit_of_error, range_index, rectangular, standard_error


def test_twelve_volts_on_the_sixty_volt_range_by_hand() -> None:
    # By hand: 0.5 % of 12.00 V is 0.060 V, two counts of 0.01 V are 0.020 V: limits +-0.080 V.
    assert limit_of_error(12.0, 0.005, 2, 0.01) == pytest.approx(0.080)
    # JCGM 100:2008, 4.3.7: 0.080 / sqrt(3) = 0.046188 V. F.2.2.1: one count, 0.29 x 0.01 = 0.002887 V.
    # In quadrature: sqrt(0.046188^2 + 0.002887^2) = 0.046278 V.
    assert standard_error(12.0, 0.005, 2, 0.01, 0.01) == pytest.approx(0.046278, abs=1e-6)
    assert default_meter().standard_error(Function.VOLTS_DC, 12.0) == pytest.approx(0.046278, abs=1e-6)


def test_rectangular_uncertainty_is_the_spread_of_an_even_distribution() -> None:
    # JCGM 100:2008, 4.3.7, equation 7; and a drawn sample (seed 7).
    drawn = np.random.default_rng(7).uniform(-0.08, 0.08, 400_000)
    assert rectangular(0.08) == pytest.approx(0.08 / 3**0.5)
    assert rectangular(0.08) == pytest.approx(drawn.std(), rel=5e-3)


def test_one_display_step_has_the_uncertainty_of_0_29_steps() -> None:
    # JCGM 100:2008, F.2.2.1: u = 0.29 dx for a digital indication.
    assert standard_error(0.0, 0.0, 0, 0.01, 0.01) == pytest.approx(0.29 * 0.01, rel=5e-3)


def test_auto_ranging_takes_the_lowest_range_that_holds_the_value() -> None:
    tops = [0.6, 6.0, 60.0]
    values = [0.0, 0.6, 0.6001, -5.0, 6.0, 59.0, 60.0, 61.0, np.nan]
    np.testing.assert_array_equal(range_index(values, tops), [0, 0, 1, 1, 1, 2, 2, 2, 2])


def test_a_reading_is_less_certain_just_above_a_change_of_range() -> None:
    below, above = default_meter().standard_error(Function.VOLTS_DC, [5.999, 6.001])
    assert above > 1.1 * below


def test_fewer_noted_digits_make_a_reading_less_certain() -> None:
    meter = default_meter()
    noted = meter.standard_error(Function.VOLTS_DC, 12.0, noted_resolution=1.0)
    # Rounding to a volt alone: 0.2887 V; with the limits' 0.0462 V in quadrature 0.2924 V, by hand.
    assert noted == pytest.approx(0.2924, abs=1e-4)
    assert meter.standard_error(Function.VOLTS_DC, 12.0, noted_resolution=1e-6) == meter.standard_error(
        Function.VOLTS_DC, 12.0
    )


@pytest.mark.parametrize("function", list(Function))
def test_an_array_gives_what_its_values_give_alone(function: Function) -> None:
    meter = default_meter()
    values = np.linspace(*meter.span(function), 41).reshape(1, 41)
    together = meter.standard_error(function, values)
    assert together.shape == (1, 41)
    assert (together > 0).all()
    np.testing.assert_array_equal(together[0], [float(meter.standard_error(function, v)) for v in values[0]])
