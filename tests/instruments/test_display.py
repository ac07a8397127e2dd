"""Values are written with the prefix and the digits that the trade writes."""

import math

import pytest

from proveout.instruments import Function, describe, engineering
from proveout.instruments.display import fixed


@pytest.mark.parametrize(
    ("function", "value", "text"),
    [
        (Function.VOLTS_DC, 4.98, "4.98 V"),
        (Function.VOLTS_DC, 13.8, "13.8 V"),
        (Function.VOLTS_DC, -0.35, "-350 mV"),
        (Function.VOLTS_DC, 0.9999, "1.00 V"),
        (Function.VOLTS_DC, 0.0, "0 V"),
        (Function.VOLTS_DC, 3e-9, "0 V"),
        (Function.OHMS, 0.31, "0.31 Ω"),
        (Function.OHMS, 0.005, "0.0050 Ω"),
        (Function.OHMS, 12e3, "12.0 kΩ"),
        (Function.OHMS, 999.9, "1.00 kΩ"),
        (Function.OHMS, 47e6, "47.0 MΩ"),
        (Function.OHMS, math.inf, "OL"),
        (Function.OHMS, math.nan, "-"),
        (Function.AMPS, 0.0071, "7.10 mA"),
        (Function.AMPS_CLAMP, 180.0, "180 A"),
    ],
)
def test_values_in_words_of_the_trade(function: Function, value: float, text: str) -> None:
    assert describe(function, value) == text


def test_any_unit_can_be_written() -> None:
    assert engineering(67_728.0, "Pa") == "67.7 kPa"


@pytest.mark.parametrize(
    ("value", "resolution", "full_scale", "text"),
    [
        (0.35, 1e-4, 0.6, "350.0 mV"),
        (12.0, 0.01, 60.0, "12.00 V"),
        (1000.0, 1.0, 1000.0, "1000 V"),
        (13.27, 0.5, 20.0, "13.5 V"),
        (-1e-9, 1e-3, 6.0, "0.000 V"),
    ],
)
def test_a_range_fixes_prefix_and_digits(value: float, resolution: float, full_scale: float, text: str) -> None:
    assert fixed(value, resolution, full_scale, "V") == text
