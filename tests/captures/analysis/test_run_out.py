"""Run-out: by hand, by geometry, and by amplitude."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.captures.analysis.run_out import run_out, run_out_of_amplitude, run_out_of_spacing
from proveout.captures.analysis.tooth_spacing import ToothSpacing
from proveout.errors import InputError


def spacing(errors: np.ndarray, orders: int = 0) -> ToothSpacing:
    return ToothSpacing(errors, np.full(errors.size, 1e-6), np.ones(errors.size), 1e-5, orders, 20, "why")


def test_a_dial_gauge_example_by_hand() -> None:
    """Eight indications of a bore, 0.01 mm: largest 9, smallest -7: run-out 0.16 mm (ISO 1101: largest less smallest).

    First order by hand: sum r cos = 9 + sqrt(1/2) (5 - (-4)) - (-7) + ... with the values below a = 7.98, b = 0.5.
    """
    angle = np.arange(8) / 8
    value = np.array([9.0, 6.0, 1.0, -5.0, -7.0, -6.0, 0.0, 6.0])
    h = np.sqrt(0.5)
    a = (9 + h * 6 + h * 5 + 7 + h * 6 + h * 6) * 2 / 8
    b = (h * 6 + 1 - h * 5 + h * 6 - 0 - h * 6) * 2 / 8
    found = run_out(angle, value)
    assert found.total == 16.0
    assert found.eccentricity == pytest.approx(np.hypot(a, b))
    assert found.high == pytest.approx(np.arctan2(b, a) / (2 * np.pi))
    assert found.form < 0.25 * found.total


def test_an_eccentric_circle_runs_out_by_twice_its_eccentricity() -> None:
    angle = np.arange(360) / 360
    distance = np.hypot(50.0 * np.cos(2 * np.pi * angle) + 0.1, 50.0 * np.sin(2 * np.pi * angle))
    found = run_out(
        np.arctan2(50 * np.sin(2 * np.pi * angle), 50 * np.cos(2 * np.pi * angle) + 0.1) / (2 * np.pi), distance
    )
    assert found.total == pytest.approx(0.2, rel=1e-3)
    assert found.eccentricity == pytest.approx(0.1, rel=1e-3)
    assert min(found.high, 1 - found.high) == pytest.approx(0.0, abs=1e-6)


def test_spacing_of_an_eccentric_wheel_gives_its_eccentricity_over_the_radius() -> None:
    """Teeth of a true wheel whose centre lies 0.25 mm off the axis towards 70 degrees, radius 60 mm: by geometry."""
    teeth = np.arange(60) / 60
    towards = 70 / 360
    seen = np.angle(60.0 * np.exp(2j * np.pi * teeth) + 0.25 * np.exp(2j * np.pi * towards)) / (2 * np.pi)
    errors = (seen - teeth + 0.5) % 1.0 - 0.5
    found = run_out_of_spacing(teeth, spacing(errors - errors.mean()))
    assert found.eccentricity == pytest.approx(0.25 / 60, rel=0.01)
    assert found.total == pytest.approx(0.5 / 60, rel=0.01)
    assert found.high == pytest.approx(towards, abs=0.005)


def test_amplitudes_give_the_run_out_in_pitches() -> None:
    """A gap that swings by +-0.1 mm under teeth of 6 mm pitch: ln A swings by 2 pi 0.1 / 6 (Wallace spacing loss)."""
    angle = np.delete(np.arange(60), [58, 59]) / 60
    amplitude = 2.0 * np.exp(2 * np.pi * 0.1 / 6.0 * np.cos(2 * np.pi * (angle - 0.3)))
    found = run_out_of_amplitude(angle, amplitude, 0.01)
    assert found.eccentricity * 6.0 == pytest.approx(0.1, rel=1e-6)
    assert found.total * 6.0 == pytest.approx(0.2, rel=0.01)
    assert found.high == pytest.approx(0.3)
    assert found.uncertainty == pytest.approx(0.01 / (2 * np.pi) * np.sqrt(2 / 58), rel=0.1)


def test_a_confounded_first_order_is_refused() -> None:
    with pytest.raises(InputError, match="coast-down"):
        run_out_of_spacing(np.arange(58) / 60, spacing(np.zeros(58), orders=12))


def test_three_indications_are_too_few() -> None:
    with pytest.raises(InputError, match="3 indications"):
        run_out(np.array([0.0, 0.3, 0.6]), np.zeros(3))
