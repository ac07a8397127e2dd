"""Ohms are refused on a live circuit."""

import numpy as np
import pytest

from proveout.errors import BlockedError
from proveout.instruments import LIVE_LIMIT, Function, check_ohms_safe, live


@pytest.mark.parametrize("volts", [12.4, 5.0, 0.11, -0.5, float("nan"), float("inf")])
def test_ohms_on_a_live_circuit_are_refused_with_the_place_and_the_way_out(volts: float) -> None:
    with pytest.raises(BlockedError, match=r"crank sensor cavity 2 to ground.*ignition off.*battery.*voltage drop"):
        check_ohms_safe(volts, "crank sensor cavity 2 to ground")


def test_the_refusal_names_the_voltage() -> None:
    with pytest.raises(BlockedError, match=r"4\.98 V is present"):
        check_ohms_safe(4.98, "here")
    with pytest.raises(BlockedError, match="voltage is not known"):
        check_ohms_safe(float("nan"), "here")


@pytest.mark.parametrize("volts", [0.0, 0.003, -0.01, LIVE_LIMIT])
def test_millivolts_of_a_dead_circuit_do_not_block(volts: float) -> None:
    check_ohms_safe(volts, "here")


def test_a_whole_batch_is_sorted_at_once() -> None:
    np.testing.assert_array_equal(live([0.0, 0.04, 0.06, -12.0, np.nan]), [False, False, True, True, True])


def test_only_functions_that_feed_the_circuit_need_it_dead() -> None:
    assert {f for f in Function if f.drives} == {Function.OHMS, Function.CONTINUITY, Function.DIODE}
