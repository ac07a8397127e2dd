"""Copper resistance against the standards' tables."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.network.conductors import awg_diameter, copper_resistance

THOUSAND_FEET = 304.8


@pytest.mark.parametrize(("gauge", "ohms"), [(18, 6.385), (20, 10.152)])
def test_resistance_of_a_gauge_per_thousand_feet(gauge: int, ohms: float) -> None:
    """ASTM B258 diameters with 1.7241e-8 ohm m at 20 C, as tabulated in NBS Handbook 100 (1966)."""
    area = np.pi / 4 * awg_diameter(gauge) ** 2 * 1e6
    assert copper_resistance(THOUSAND_FEET, area) == pytest.approx(ohms, abs=0.0006)


def test_gauge_36_is_five_mils_and_gauge_0000_is_460_mils() -> None:
    """The two sizes by which ASTM B258 defines the series (from memory)."""
    np.testing.assert_allclose(awg_diameter(np.array([36.0, -3.0])), [0.127e-3, 11.684e-3], rtol=1e-12)


@pytest.mark.parametrize(
    ("area", "class_5", "vehicle"),
    [(0.5, 39.0, 37.1), (0.75, 26.0, 24.7), (1.0, 19.5, 18.5), (1.5, 13.3, 12.7), (2.5, 7.98, 7.60)],
)
def test_a_metre_of_cable_stays_under_the_standards_maxima(area: float, class_5: float, vehicle: float) -> None:
    """Maxima in milliohm per metre at 20 C: IEC 60228 class 5 (a secondary table), ISO 6722-1 (from memory)."""
    milliohms = 1e3 * float(copper_resistance(1.0, area))
    assert 0.85 * vehicle < milliohms < vehicle < class_5


def test_resistance_is_proportional_to_length_over_area() -> None:
    lengths, areas = np.array([1.0, 2.0, 3.0]), np.array([[0.5], [1.0]])
    assert copper_resistance(lengths, areas).shape == (2, 3)
    assert copper_resistance(3.0, 1.5) == pytest.approx(float(copper_resistance(1.0, 0.5)))
