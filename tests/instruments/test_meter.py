"""The general-purpose meter: ranges, over-limit, display, leads."""

import dataclasses

import numpy as np
import pytest

from proveout.errors import InputError
from proveout.instruments import Function, Reading, default_meter


@pytest.mark.parametrize(
    ("function", "value", "text"),
    [
        (Function.VOLTS_DC, 4.98, "4.980 V"),
        (Function.VOLTS_DC, 12.004, "12.00 V"),
        (Function.VOLTS_DC, -0.0123, "-12.3 mV"),
        (Function.OHMS, 0.31, "0.3 Ω"),
        (Function.OHMS, 12_344.0, "12.34 kΩ"),
        (Function.OHMS, 51e6, "OL"),
        (Function.CONTINUITY, 700.0, "OL"),
        (Function.AMPS, 0.0071, "7.10 mA"),
        (Function.AMPS, 10.5, "OL"),
        (Function.VOLTS_DC, 1000.6, "OL"),
        (Function.SCOPE_HIGH, 4.98, "5.0 V"),
        (Function.OHMS, float("nan"), "-"),
    ],
)
def test_the_display_shows_the_digits_of_the_range(function: Function, value: float, text: str) -> None:
    # 6000 counts: 0.1 mV, 1 mV, 10 mV ... in the volt ranges, by hand.
    assert default_meter().show(function, value) == text
    assert default_meter().read(function, value).shown == text


def test_over_limit_begins_above_the_highest_range() -> None:
    meter = default_meter()
    tops = {Function.OHMS: 50e6, Function.VOLTS_DC: 1000.0, Function.AMPS: 10.0}
    for function, top in tops.items():
        np.testing.assert_array_equal(
            meter.over_limit(function, [0.0, top, 1.01 * top, np.inf]), [False, False, True, True]
        )


def test_a_voltmeter_loads_with_ten_megohms() -> None:
    # Common practice.
    assert default_meter().input_resistance(Function.VOLTS_DC) == 10e6
    assert default_meter().input_resistance(Function.OHMS) == np.inf


def test_the_milliampere_input_has_more_burden_than_the_ampere_input() -> None:
    milli, whole = default_meter().series_resistance(Function.AMPS, [0.05, 5.0])
    assert milli > 10 * whole


def test_the_ohms_test_current_falls_with_the_range() -> None:
    meter = default_meter()
    current = meter.open_circuit_volts(Function.OHMS) / meter.capability(Function.OHMS).table[3]
    assert (np.diff(current) < 0).all()
    assert current[0] < 1e-3


def test_leads_count_unless_zeroed() -> None:
    meter = default_meter()
    assert meter.lead_offset == 0.0
    assert dataclasses.replace(meter, leads_zeroed=False).lead_offset == meter.lead_resistance == 0.2


def test_continuity_sounds_on_a_wire_and_not_on_a_sensor() -> None:
    np.testing.assert_array_equal(default_meter().sounds([0.3, 1200.0, np.inf]), [True, False, False])


def test_a_read_value_is_rounded_to_the_display() -> None:
    reading = default_meter().read(Function.VOLTS_DC, 4.98049)
    assert reading == Reading(value=4.98, over_limit=False, shown="4.980 V", unit="V", resolution=1e-3)
    assert default_meter().read(Function.OHMS, np.inf) == Reading.over("Ω")
    assert not default_meter().read(Function.OHMS, np.nan).taken


def test_a_meter_without_a_clamp_says_what_it_has() -> None:
    meter = default_meter()
    plain = dataclasses.replace(
        meter, capabilities=tuple(c for c in meter.capabilities if c.function != Function.AMPS_CLAMP)
    )
    assert not plain.has(Function.AMPS_CLAMP)
    with pytest.raises(InputError, match=r"no function 'amps_clamp'; it has volts_dc"):
        plain.span(Function.AMPS_CLAMP)


@pytest.mark.parametrize(("value", "over"), [(1.0, True), (float("nan"), False), (float("inf"), False)])
def test_a_reading_is_either_a_number_or_over_limit(value: float, over: bool) -> None:
    with pytest.raises(InputError, match="must be finite"):
        Reading(value=value, over_limit=over, shown="", unit="V")
