"""What people type for a reading, and what comes of it."""

import subprocess
import sys

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from proveout.errors import InputError, RangeError, UnitError
from proveout.instruments import Function, Reading, default_meter, describe
from proveout.instruments.parsing import parse_quantity, parse_reading
from proveout.instruments.units import KINDS

METER = default_meter()
OHMS, VOLTS, AMPS = Function.OHMS, Function.VOLTS_DC, Function.AMPS

TYPED = [
    (OHMS, "0.3", 0.3, 0.1, "0.3 Ω"),
    (OHMS, "0.3 ohm", 0.3, 0.1, "0.3 Ω"),
    (OHMS, "0.3ohms", 0.3, 0.1, "0.3 Ω"),
    (OHMS, "0.3 \u03a9", 0.3, 0.1, "0.3 Ω"),
    (OHMS, "0.3 \u2126", 0.3, 0.1, "0.3 Ω"),
    (OHMS, ".3", 0.3, 0.1, "0.3 Ω"),
    (OHMS, "  12k ", 12e3, 1e3, "12 kΩ"),
    (OHMS, "12 kohm", 12e3, 1e3, "12 kΩ"),
    (OHMS, "12 K Ohm", 12e3, 1e3, "12 kΩ"),
    (OHMS, "12.30 kΩ", 12.3e3, 10.0, "12.30 kΩ"),
    (OHMS, "12000", 12e3, 10.0, "12000 Ω"),
    (OHMS, "1.2e4", 12e3, 1e3, "1.2e4 Ω"),
    (OHMS, "4k7", 4.7e3, 100.0, "4.7 kΩ"),  # IEC 60062, letter in place of the decimal sign
    (OHMS, "4R7", 4.7, 0.1, "4.7 Ω"),
    (OHMS, "12R", 12.0, 1.0, "12 Ω"),
    (OHMS, "12M", 12e6, 1e6, "12 MΩ"),
    (OHMS, "12 MOHM", 12e6, 1e6, "12 MΩ"),
    (OHMS, "12 megohm", 12e6, 1e6, "12 MΩ"),
    (OHMS, "12 milliohm", 0.012, 0.1, "12 milliohm"),
    (OHMS, "-0.1", -0.1, 0.1, "-0.1 Ω"),
    (VOLTS, "4.98 V", 4.98, 0.01, "4.98 V"),
    (VOLTS, "4.98v", 4.98, 0.01, "4.98 V"),
    (VOLTS, "4,98 V", 4.98, 0.01, "4.98 V"),
    (VOLTS, "4,982 V", 4.982, 0.001, "4.982 V"),  # 4982 V cannot be shown, so the comma is decimal
    (VOLTS, "0,350", 0.35, 0.001, "0.350 V"),
    (VOLTS, "350 mV", 0.35, 1e-3, "350 mV"),
    (VOLTS, "350 mv", 0.35, 1e-3, "350 mV"),
    (VOLTS, "350m", 0.35, 1e-3, "350 mV"),
    (VOLTS, "\u22120.5", -0.5, 0.1, "-0.5 V"),
    (VOLTS, "+12.6 V DC", 12.6, 0.1, "12.6 V"),
    (VOLTS, "12.6 vdc", 12.6, 0.1, "12.6 V"),
    (VOLTS, "12.", 12.0, 1.0, "12 V"),
    (VOLTS, "4.98123 V", 4.98123, 0.001, "4.98123 V"),
    (Function.VOLTS_AC, "1.2 VAC", 1.2, 0.1, "1.2 V"),
    (AMPS, "7.1 mA", 7.1e-3, 1e-4, "7.1 mA"),
    (AMPS, "7.1 ma", 7.1e-3, 1e-4, "7.1 mA"),
    (AMPS, "60 µA", 60e-6, 1e-5, "60 µA"),
    (Function.AMPS_CLAMP, "180 amps", 180.0, 1.0, "180 A"),
    (Function.DIODE, "0.55", 0.55, 0.01, "0.55 V"),
    (Function.SCOPE_SWING, "5.0 Vpp", 5.0, 0.1, "5.0 V"),
]


@pytest.mark.parametrize(("function", "text", "value", "resolution", "shown"), TYPED)
def test_what_people_type(function: Function, text: str, value: float, resolution: float, shown: str) -> None:
    reading = parse_reading(text, function, METER)
    assert reading.value == pytest.approx(value, rel=1e-12)
    assert reading.resolution == pytest.approx(resolution, rel=1e-9)
    assert (reading.shown, reading.unit, reading.over_limit) == (shown, function.unit, False)


@pytest.mark.parametrize(("function", "text"), [(row[0], row[4]) for row in TYPED])
def test_what_is_recorded_can_be_typed_again(function: Function, text: str) -> None:
    assert parse_reading(text, function, METER).shown == text


@pytest.mark.parametrize("text", ["OL", "ol", "0L", "0l", "O.L", "O.L.", "0.L", "OL Ω", "O.L MΩ", "open", "Over limit"])
def test_over_limit_as_people_type_it(text: str) -> None:
    assert parse_reading(text, OHMS, METER) == Reading.over("Ω")


def test_a_voltmeter_can_be_over_limit_but_not_open() -> None:
    assert parse_reading("-OL", VOLTS, METER) == Reading.over("V")
    with pytest.raises(InputError, match="said of an ohms test"):
        parse_reading("open", VOLTS, METER)


@pytest.mark.parametrize("text", ["-", "--", "–", "—"])
def test_a_dash_is_a_reading_that_could_not_be_read(text: str) -> None:
    reading = parse_reading(text, OHMS, METER)
    assert reading == Reading.unread("Ω")
    assert not reading.taken


REFUSED = [
    (OHMS, "5 V", UnitError, "'V' is a voltage, and a resistance is expected"),
    (OHMS, "OL V", UnitError, "'V' is a voltage"),
    (OHMS, "5 gallon", UnitError, "another thing .gallon."),
    (OHMS, "5 ohn", UnitError, "did you mean 'ohm'"),
    (OHMS, "5 zorks", UnitError, "'zorks' is not known for a resistance: write ohm"),
    (OHMS, "12m", UnitError, "'m' can be read as milli or as mega"),
    (OHMS, "12 mohm", UnitError, "milli or as mega"),
    (OHMS, "12 mΩ", UnitError, "milli or as mega"),
    (OHMS, "4m7", UnitError, "milli or as mega"),
    (OHMS, "60 M", RangeError, "outside what .* shows as 'ohms'.* 50.00 MΩ"),
    (OHMS, "-5", RangeError, "voltage is left on the circuit"),
    (OHMS, "12,000 ohm", InputError, "can be 12.000 or 12000"),
    (VOLTS, "12 ohm", UnitError, "'ohm' is a resistance, and a voltage is expected"),
    (VOLTS, "20 inHg", UnitError, "'inHg' is a pressure"),
    (VOLTS, "12 VAC", UnitError, "'VAC' does not belong to a 'volts_dc' reading"),
    (VOLTS, "350 MV", UnitError, "milli or as mega"),
    (VOLTS, "5000", RangeError, "-1000 V to 1000 V"),
    (VOLTS, "5 megavolt", RangeError, "check the prefix"),
    (VOLTS, "1,000 V", InputError, "can be 1.000 or 1000"),
    (VOLTS, "1.234,5", InputError, "more than one point or comma"),
    (VOLTS, "12 000", InputError, "not a number with a unit"),
    (VOLTS, "about 5", InputError, "not a number with a unit"),
    (VOLTS, ".", InputError, "not a number with a unit"),
    (VOLTS, "yes", InputError, "not a number with a unit"),
    (VOLTS, "nan", InputError, "not a number: type OL"),
    (VOLTS, "-inf", InputError, "not a number: type OL"),
    (OHMS, "∞", InputError, "not a number: type OL"),
    (VOLTS, "", InputError, "nothing was typed"),
    (VOLTS, "  ", InputError, "nothing was typed"),
    (VOLTS, "1" * 60, InputError, "longer than a reading"),
    (VOLTS, "9e99", RangeError, "outside"),
    (Function.VOLTS_AC, "-3", RangeError, "outside"),
    (Function.SCOPE_SWING, "5 Vdc", UnitError, "does not belong to a 'scope_swing'"),
    (AMPS, "12", RangeError, "10.00 A"),
]


@pytest.mark.parametrize(("function", "text", "error", "says"), REFUSED)
def test_what_is_refused_says_why(function: Function, text: str, error: type[InputError], says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        parse_reading(text, function, METER)
    assert type(caught.value) is error


QUANTITIES = [
    # NIST SP 811, appendix B.8 (seen through secondary tables): inch of mercury, conventional, 3.386 389 E+03 Pa.
    ("1 inHg", "pressure", 3386.389, 1e-3),
    ("20 inHg", "pressure", 67_727.78, 1e-2),
    ("20 in Hg", "pressure", 67_727.78, 1e-2),
    ('20 "Hg', "pressure", 67_727.78, 1e-2),
    # NIST SP 811, appendix B.8, from memory: psi 6.894 757 E+03, inH2O 2.490 889 E+02, mmHg 1.333 224 E+02.
    ("1 psi", "pressure", 6894.757, 1e-3),
    ("1 inH2O", "pressure", 249.0889, 1e-4),
    ("1 mmHg", "pressure", 133.3224, 1e-3),
    ("1 bar", "pressure", 1e5, 0.0),
    ("300 mbar", "pressure", 30e3, 0.0),
    ("101,3 kPa", "pressure", 101.3e3, 0.0),
    ("-20 inHg", "pressure", -67_727.78, 1e-2),
    # By definition: 0 °C is 273.15 K, and 185 °F is 85 °C.
    ("85 °C", "temperature", 358.15, 1e-9),
    ("185F", "temperature", 358.15, 1e-9),
    ("-40 C", "temperature", 233.15, 1e-9),
    ("-40 F", "temperature", 233.15, 1e-9),
    ("12 min", "time", 720.0, 0.0),
    ("1.5 h", "time", 5400.0, 0.0),
    ("20 ms", "time", 0.02, 0.0),
    ("120", "frequency", 120.0, 0.0),
    ("2.5 kHz", "frequency", 2500.0, 0.0),
    ("12 V", "voltage", 12.0, 0.0),
    ("2k2", "resistance", 2200.0, 0.0),
    ("14 mA", "current", 0.014, 0.0),
]


@pytest.mark.parametrize(("text", "kind", "value", "within"), QUANTITIES)
def test_quantities_in_si_units(text: str, kind: str, value: float, within: float) -> None:
    assert parse_quantity(text, kind) == pytest.approx(value, rel=1e-12, abs=within)


def test_a_labelled_field_gives_the_unit_of_a_bare_number() -> None:
    assert parse_quantity("12", "time", "min") == 720.0
    assert parse_quantity("30 s", "time", "min") == 30.0


@pytest.mark.parametrize(
    ("text", "kind", "error", "says"),
    [
        ("20", "pressure", UnitError, "a pressure needs its unit"),
        ("12", "time", UnitError, "a time needs its unit"),
        ("5 m", "time", UnitError, "'m' is another thing .meter."),
        ("5 V", "pressure", UnitError, "'V' is a voltage, and a pressure is expected"),
        ("20 inhgg", "pressure", UnitError, "did you mean 'inhg'"),
        ("-300 C", "temperature", RangeError, "below absolute zero"),
        ("-5 min", "time", RangeError, "below zero"),
        ("2,000 Hz", "frequency", InputError, "can be 2.000 or 2000"),
        ("nan", "pressure", InputError, "not a number"),
        ("", "pressure", InputError, "nothing was typed"),
        ("5 Nm", "torque", InputError, "kind 'torque' is not known; choose one of voltage"),
    ],
)
def test_what_is_refused_of_quantities(text: str, kind: str, error: type[InputError], says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        parse_quantity(text, kind)
    assert type(caught.value) is error


_PIECES = st.sampled_from(
    ["0", "12", ".", ",", "-", " ", "k", "m", "M", "V", "Ω", "ohm", "OL", "e", "°", '"', "inHg", "µ"]
)
_ANYTHING = st.text(max_size=50) | st.lists(_PIECES, max_size=8).map("".join)


@settings(deadline=None, max_examples=300)
@given(text=_ANYTHING, function=st.sampled_from(list(Function)))
@example(text="٣ V", function=VOLTS)
@example(text="1 %", function=VOLTS)
def test_any_text_gives_a_reading_or_an_input_error(text: str, function: Function) -> None:
    try:
        reading = parse_reading(text, function, METER)
    except InputError as error:
        assert len(str(error)) > 20
        return
    if reading.value is not None:
        least, most = METER.span(function)
        assert least - 1e-9 <= reading.value <= most * (1 + 1e-9)
        assert reading.resolution > 0


@settings(deadline=None, max_examples=200)
@given(text=_ANYTHING, kind=st.sampled_from(sorted(KINDS)))
def test_any_text_gives_a_quantity_or_an_input_error(text: str, kind: str) -> None:
    try:
        value = parse_quantity(text, kind)
    except InputError:
        return
    assert isinstance(value, float)


@settings(deadline=None, max_examples=300)
@given(data=st.data(), function=st.sampled_from(list(Function)))
def test_what_the_meter_shows_is_read_back_within_half_a_count(data: st.DataObject, function: Function) -> None:
    least, most = METER.span(function)
    value = data.draw(st.floats(least, most) | st.floats(max(least, -10.0), min(most, 10.0)))
    shown = METER.read(function, value)
    again = parse_reading(shown.shown, function, METER)
    assert again.value is not None
    assert shown.value is not None
    count = float(METER.resolution(function, value))
    assert abs(again.value - value) <= 0.5 * count * (1 + 1e-6)
    assert again.value == pytest.approx(shown.value, abs=1e-6 * count)
    assert again.resolution == pytest.approx(shown.resolution)


@settings(deadline=None, max_examples=200)
@given(value=st.floats(1e-3, 49e6))
def test_what_a_face_writes_is_read_back_within_its_figures(value: float) -> None:
    # Three figures, or two decimals of a small number, are kept.
    again = parse_reading(describe(OHMS, value), OHMS, METER).value
    assert again == pytest.approx(value, rel=0.051)


def test_faces_that_take_no_readings_do_not_wait_for_the_units_library() -> None:
    code = "import sys, proveout.instruments; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
