"""The wax of a thermostat: opens in a band, closes lower than it opened."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.network.thermal import flow_share, opening_after, rising_opening

STARTS, FULL = 361.0, 373.0


def test_a_190_fahrenheit_thermostat_starts_near_its_rating_and_is_wide_open_below_212() -> None:
    # Common practice; 190 F = 87.8 C.
    assert float(rising_opening(360.5, STARTS, FULL)) == 0.0
    assert float(rising_opening(212.0 / 1.8 + 255.37, STARTS, FULL)) == pytest.approx(1.0)


def test_it_closes_at_a_lower_temperature_than_it_opened() -> None:
    wax = np.concatenate([np.linspace(350, 370, 201), np.linspace(370, 350, 201)])
    opening, path = np.array(0.0), []
    for kelvin in wax:
        opening = opening_after(opening, kelvin, STARTS, FULL, 3.0)
        path.append(float(opening))
    up, down = np.array(path[:201]), np.array(path[201:])[::-1]
    half_up, half_down = (float(np.interp(0.5, branch, wax[:201])) for branch in (up, down))
    assert half_up - half_down == pytest.approx(3.0, abs=0.05)


def test_a_leaking_valve_lets_its_share_through_when_shut_and_all_when_open() -> None:
    assert flow_share(np.array([0.0, 1.0]), 0.1).tolist() == [0.1, 1.0]
