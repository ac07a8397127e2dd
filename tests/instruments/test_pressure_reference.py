"""A vacuum is asked about where it could be an absolute pressure, and refused where the air has not so much."""

from __future__ import annotations

import pytest

from proveout.errors import InputError, RangeError, UnitError
from proveout.instruments import Function, default_meter, describe
from proveout.instruments.parsing import parse_quantity, parse_reading

AIR = 101_325.0
INCH = 3386.389  # pascal: NIST SP 811, from memory


def vacuum(text: str, air: float | None = AIR) -> float:
    value = parse_reading(text, Function.VACUUM_GAUGE, default_meter(), air).value
    assert value is not None
    return value


@pytest.mark.parametrize(
    ("typed", "pascal"),
    [
        ("20 inHg", 20 * INCH),
        ("20 in Hg", 20 * INCH),
        ("-20 inHg", 20 * INCH),
        ('20 "Hg', 20 * INCH),
        ("508 mmHg", 508 * 133.3224),
        ("-0.7 bar", 70e3),
        ("70 kPa vacuum", 70e3),
        ("700 mbar below", 70e3),
        ("70 kPa vac", 70e3),
        ("31.325 kPa absolute", 70e3),
        ("313.25 mbar abs", 70e3),
        ("0 inHg", 0.0),
    ],
)
def test_what_a_vacuum_gauge_shows_is_read_however_it_is_written(typed: str, pascal: float) -> None:
    assert vacuum(typed) == pytest.approx(pascal, rel=1e-4)


@pytest.mark.parametrize("typed", ["80 kPa", "0.8 bar", "800 mbar", "11 psi"])
def test_a_pressure_that_may_be_left_or_taken_away_is_asked_about(typed: str) -> None:
    with pytest.raises(UnitError, match=f"'{typed}' can be a vacuum .* or an absolute pressure"):
        vacuum(typed)


def test_a_vacuum_deeper_than_the_air_is_refused_with_both_figures() -> None:
    """29 inHg cannot be at 1500 m: the air there has 84.6 kPa, 25.0 inHg (U.S. Standard Atmosphere 1976)."""
    with pytest.raises(RangeError, match=r"vacuum of 98\.2 kPa.*84\.6 kPa \(25\.0 inHg\).*altitude"):
        vacuum("29 inHg", 84_560.0)
    assert vacuum("29 inHg") == pytest.approx(29 * INCH, rel=1e-5)


def test_an_absolute_pressure_needs_the_air_to_compare_with() -> None:
    with pytest.raises(InputError, match="pressure of the air here is not known"):
        vacuum("30 kPa absolute", None)


def test_a_pressure_gauge_shows_what_is_above_the_air() -> None:
    meter = default_meter()
    shown = [
        parse_reading(text, Function.PRESSURE_GAUGE, meter, AIR).value for text in ("85 bar", "8.5 MPa", "1233 psig")
    ]
    assert shown == pytest.approx([8.5e6] * 3, rel=1e-3)
    absolute = parse_reading("9 bar abs", Function.PRESSURE_GAUGE, meter, AIR).value
    assert absolute == pytest.approx(9e5 - AIR)


@pytest.mark.parametrize(("typed", "celsius"), [("85 °C", 85.0), ("190 F", 87.78), ("358.15 K", 85.0)])
def test_a_temperature_is_read_in_any_scale_but_never_without_one(typed: str, celsius: float) -> None:
    reading = parse_reading(typed, Function.THERMOMETER, default_meter())
    assert reading.value == pytest.approx(celsius, abs=0.01)
    with pytest.raises(UnitError, match="needs its unit"):
        parse_reading("85", Function.THERMOMETER, default_meter())


def test_a_count_is_a_bare_number() -> None:
    reading = parse_reading("3", Function.COUNT, default_meter())
    assert (reading.value, reading.shown) == (3.0, "3")
    assert describe(Function.COUNT, 3.2) == "3"


def test_a_vacuum_is_written_in_both_units_of_the_trade() -> None:
    assert describe(Function.VACUUM_GAUGE, 67_728.0) == "67.7 kPa (20.0 inHg)"


def test_an_altitude_is_typed_in_metres_or_feet() -> None:
    assert parse_quantity("5000 ft", "length") == pytest.approx(1524.0)
    assert parse_quantity("1.5 km", "length") == 1500.0
    with pytest.raises(UnitError):
        parse_quantity("5000", "length")


def test_a_pointer_gauge_is_as_good_as_its_class() -> None:
    """EN 837-1, class 1.6 (from memory): 1.6 % of the span anywhere on the dial, u = a / sqrt(3) (GUM, 4.3.7)."""
    meter = default_meter()
    limit = 0.016 * 102e3
    for value in (10e3, 60e3):
        assert float(meter.standard_error(Function.VACUUM_GAUGE, value)) == pytest.approx(limit / 3**0.5, rel=0.02)
