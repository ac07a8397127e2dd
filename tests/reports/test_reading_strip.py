"""A reading on its scale."""

from __future__ import annotations

import pytest

from proveout.errors import InputError
from proveout.reports.reading_strip import ReadingStrip, StripBand, draw_reading_strip, strip_picture
from proveout.reports.svg import Polygon, Polyline, Text

SOUND = StripBand("computed, sound", 4.93, 5.06)
LIMIT = StripBand("manual's limit", 4.8, 5.2)


def _mark(strip: ReadingStrip) -> float:
    return next(s.points[0][0] for s in strip_picture(strip).shapes if isinstance(s, Polyline) and s.role == "reading")


def _band(strip: ReadingStrip) -> tuple[float, float]:
    band = next(s for s in strip_picture(strip).shapes if isinstance(s, Polygon) and s.fill == "#b7d7c4")
    return band.points[0][0], band.points[1][0]


@pytest.mark.parametrize(("value", "inside"), [(5.0, True), (4.92, False), (5.07, False), (0.31, False)])
def test_the_mark_lies_in_the_band_when_the_reading_does(value: float, inside: bool) -> None:
    strip = ReadingStrip("Reference", "V", value, f"{value} V", SOUND, LIMIT)
    low, high = _band(strip)
    assert (low <= _mark(strip) <= high) is inside


def test_over_limit_stands_beyond_the_end_of_the_scale() -> None:
    strip = ReadingStrip("Wire", "Ω", None, "OL", StripBand("sound", 0.1, 0.3), StripBand("limit", None, 1.0))
    assert _mark(strip) > _band(strip)[1]
    words = [s.text for s in strip_picture(strip).shapes if isinstance(s, Text)]
    assert "read: OL" in words


def test_decades_of_resistance_get_a_logarithmic_scale() -> None:
    fault = StripBand("corroded", 0.3, 1.0e5)
    words = [
        s.text
        for s in strip_picture(ReadingStrip("Wire", "Ω", 10.0, "10 Ω", faults=(fault,))).shapes
        if isinstance(s, Text)
    ]
    assert "logarithmic scale" in words
    linear = [
        s.text for s in strip_picture(ReadingStrip("Reference", "V", 5.0, "5 V", SOUND)).shapes if isinstance(s, Text)
    ]
    assert "logarithmic scale" not in linear


@pytest.mark.parametrize("value", [0.0, -0.3, 1e-6, 1e9])
def test_any_single_value_has_a_scale(value: float) -> None:
    assert "read:" in draw_reading_strip(ReadingStrip("Value", "V", value, f"{value:g} V"))


def test_a_band_upside_down_or_without_a_number_is_refused() -> None:
    with pytest.raises(InputError, match="smaller value first"):
        draw_reading_strip(ReadingStrip("Value", "V", 1.0, "1 V", StripBand("sound", 2.0, 1.0)))
    with pytest.raises(InputError, match="no scale can show"):
        draw_reading_strip(ReadingStrip("Value", "V", float("nan"), "?", SOUND))
