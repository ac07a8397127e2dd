"""Effectiveness against the package ht, which follows the textbook's tables."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from ht.hx import effectiveness_from_NTU as untyped_effectiveness

from proveout.network.thermal import crossflow_effectiveness, exchanger_conductance, mixed_effectiveness

textbook: Callable[..., float] = untyped_effectiveness


@pytest.mark.parametrize("units", [0.2, 0.8, 1.5, 3.0])
@pytest.mark.parametrize("ratio", [0.1, 0.5, 1.0])
def test_crossflow_effectiveness_is_that_of_the_textbook(units: float, ratio: float) -> None:
    approximate = textbook(units, ratio, subtype="crossflow approximate")
    exact = textbook(units, ratio, subtype="crossflow")
    found = float(crossflow_effectiveness(units, ratio))
    assert found == pytest.approx(approximate, rel=1e-9)
    assert found == pytest.approx(exact, abs=0.03)


@pytest.mark.parametrize("units", [0.1, 1.0, 4.0])
def test_against_one_temperature_it_is_that_of_a_boiler(units: float) -> None:
    assert float(mixed_effectiveness(units)) == pytest.approx(textbook(units, 0.0, subtype="boiler"))
    assert float(crossflow_effectiveness(units, 0.0)) == pytest.approx(float(mixed_effectiveness(units**1.0)), rel=1e-6)


def test_heat_flow_is_bounded_by_the_smaller_stream_and_zero_without_one() -> None:
    assert float(exchanger_conductance(500.0, 2000.0, 1e6)) == pytest.approx(500.0, rel=1e-3)
    assert float(exchanger_conductance(0.0, 2000.0, 800.0)) == pytest.approx(0.0, abs=1e-6)
    both = exchanger_conductance(np.array([500.0, 2000.0]), np.array([2000.0, 500.0]), 800.0)
    assert both[0] == both[1]
