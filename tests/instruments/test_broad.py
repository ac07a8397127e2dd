"""The broad density is a probability over all that an instrument can show."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from proveout.instruments import Function, Reading, default_meter
from proveout.instruments.broad import log_log_density, mixture_log_density, with_over_limit


def _integral(function: Function) -> float:
    """Integrate piece by piece over the decades and the edges, where the density is smooth."""
    meter = default_meter()
    least, most = meter.span(function)
    shape = meter.capability(function).broad
    decades = 10.0 ** np.arange(-7.0, 8.0)
    edges = np.concatenate([[least, 0.0, most, shape.low, shape.high], decades, -decades])
    edges = np.unique(edges[(edges >= least) & (edges <= most)])

    def density(value: float) -> float:
        return float(np.exp(meter.broad_log_densities(function, value)))

    return sum(float(quad(density, a, b, epsabs=1e-12)[0]) for a, b in pairwise(edges))


@pytest.mark.parametrize("function", list(Function))
def test_density_and_over_limit_mass_sum_to_one(function: Function) -> None:
    over = float(np.exp(default_meter().broad_log_density(function, Reading.over(function.unit))))
    assert 0.0 < over < 1.0
    assert _integral(function) + over == pytest.approx(1.0, abs=1e-7)


def test_every_decade_of_ohms_is_alike() -> None:
    # Log-uniform with knee c: P(a < R < b) = ln((b + c)/(a + c)) / total, the same for 10 to 100 and 10k to 100k.
    def probability(low: float, high: float) -> float:
        return float(quad(lambda r: np.exp(log_log_density(r, least=0.0, most=50e6, knee=0.1)), low, high)[0])

    assert probability(10e3, 100e3) == pytest.approx(probability(10.0, 100.0), rel=5e-3)
    assert probability(10e3, 100e3) == pytest.approx(np.log(10.0) / np.log(50e6 / 0.1 + 1), rel=1e-4)


def test_vehicle_voltages_are_likelier_than_others() -> None:
    inside, outside = mixture_log_density([5.0, 100.0], least=-1000, most=1000, low=-0.5, high=15.5, weight=0.9)
    # By hand: 0.9 / 16 + 0.1 / 2000 = 0.0563 per volt; 0.1 / 2000 = 0.00005 per volt.
    assert np.exp(inside) == pytest.approx(0.0563)
    assert np.exp(outside) == pytest.approx(5e-5)


@pytest.mark.parametrize("function", list(Function))
def test_what_cannot_be_shown_has_no_density(function: Function) -> None:
    meter = default_meter()
    least, most = meter.span(function)
    beyond = meter.broad_log_densities(function, [least - 1.0, most + 1.0, np.nan])
    np.testing.assert_array_equal(beyond, [-np.inf] * 3)


def test_over_limit_takes_the_place_of_the_value() -> None:
    joined = with_over_limit([-1.0, -2.0], [False, True], 0.2)
    np.testing.assert_allclose(joined, [np.log(0.8) - 1.0, np.log(0.2)])


def test_a_reading_that_could_not_be_read_says_nothing() -> None:
    assert default_meter().broad_log_density(Function.OHMS, Reading.unread("Ω")) == 0.0


def test_one_reading_gives_what_the_arrays_give() -> None:
    meter = default_meter()
    one = meter.broad_log_density(Function.OHMS, meter.read(Function.OHMS, 1234.0))
    assert one == float(meter.broad_log_densities(Function.OHMS, 1234.0))
