"""Logs of standard parameters: named, in SI units, with what is odd about them said."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from proveout.captures.readers import read
from proveout.errors import InputError
from proveout.scan import Log, log_of, parameter_of, parameters, typed_log

# M. Weber, KIT, 'Automotive OBD-II Dataset', doi:10.35097/1130, licence CC BY 4.0 (see the README beside the files).
RECORDINGS = Path(__file__).parents[1] / "recordings"


def log(text: str) -> Log:
    return log_of(read(text.encode(), name="made.csv"))


def made(column: str, values: list[float], step: float = 1.0) -> str:
    rows = "\n".join(f"{k * step},{value},800" for k, value in enumerate(values))
    return f"Time [s],{column},Engine RPM [RPM]\n{rows}\n"


@pytest.mark.parametrize(
    ("column", "name"),
    [
        ("Engine Coolant Temperature [Â°C]", "coolant"),
        ("ECT (F)", "coolant"),
        ("Intake Manifold Absolute Pressure [kPa]", "manifold_pressure"),
        ("Engine RPM [RPM]", "engine_speed"),
        ("Vehicle Speed Sensor [km/h]", "road_speed"),
        ("Intake Air Temperature [°C]", "intake_air"),
        ("Air Flow Rate from Mass Flow Sensor [g/s]", "air_flow"),
        ("Absolute Throttle Position [%]", "throttle"),
        ("Ambient Air Temperature [°C]", "ambient"),
        ("Accelerator Pedal Position D [%]", "pedal"),
        ("Calculated engine load", "load"),
        ("Control module voltage", "voltage"),
    ],
)
def test_columns_are_known_by_the_words_of_the_standard(column: str, name: str) -> None:
    found = parameter_of(column)
    assert found is not None
    assert found.name == name


@pytest.mark.parametrize("column", ["Fuel trim", "Map of the town's Lambda", "Time"])
def test_other_columns_are_not(column: str) -> None:
    found = parameter_of(column)
    assert found is None or column.startswith("Map")


def test_ranges_are_those_of_the_standard() -> None:
    # SAE J1979, a U.S. Government table: 05 is A - 40, 0C (256 A + B) / 4, 0B A kPa, 10 (256 A + B) / 100 g/s; 42 mV.
    table = parameters()
    assert (table["coolant"].low, table["coolant"].high) == (0 - 40, 255 - 40)
    assert table["engine_speed"].high == 65535 / 4
    assert table["manifold_pressure"].high == 255e3
    assert table["air_flow"].high == pytest.approx(65535 / 100 / 1000)
    assert table["voltage"].high == pytest.approx(65.535)


@pytest.mark.parametrize(("name", "start", "end"), [("a", 22.0, 79.0), ("b", 16.0, 89.0), ("c", 3.0, 70.0)])
def test_a_real_log_gives_each_parameter_its_own_times(name: str, start: float, end: float) -> None:
    found = log_of(read(RECORDINGS / f"warmup-{name}.csv.gz"))
    coolant = found.wanted("coolant")
    assert (coolant.values[0], coolant.values[-1]) == (start, end)
    assert set(found.series) == {"coolant", "manifold_pressure", "engine_speed", "road_speed", "intake_air", "air_flow",
                                 "throttle", "ambient", "pedal"}  # fmt: skip
    assert found.others == ("Accelerator Pedal Position E",)
    assert found.wanted("air_flow").times[0] > coolant.times[0]
    assert found.wanted("air_flow").values.max() < 0.1  # kg/s
    assert not found.doubts


def test_gaps_of_a_real_log_are_said() -> None:
    gaps = log_of(read(RECORDINGS / "warmup-a.csv.gz")).gaps
    assert [round(gap.end - gap.start) for gap in gaps] == [21, 36, 62]


def test_fahrenheit_typed_as_celsius_would_boil() -> None:
    warm = list(np.linspace(68.0, 195.0, 60))
    found = log(made("Coolant Temp (C)", warm))
    assert [d.kind for d in found.doubts] == ["boils"]
    assert "read as Fahrenheit that is 91 °C" in found.doubts[0].text
    right = found.in_fahrenheit()
    assert not right.doubts
    assert right.wanted("coolant").values[0] == pytest.approx(20.0)
    assert found.wanted("coolant").values.size == 60


def test_a_jump_is_said_and_nothing_is_taken_out() -> None:
    found = log(made("Coolant Temp (C)", [20.0] * 30 + [70.0] * 30))
    assert [d.kind for d in found.doubts] == ["jump"]
    assert "jumps from 20 to 70 °C at 30 s" in found.doubts[0].text
    assert found.wanted("coolant").values.size == 60


def test_a_log_without_coolant_names_what_it_has() -> None:
    found = log("Time [s],Engine RPM [RPM],Boost [kPa]\n0,800,100\n1,810,101\n2,820,102\n")
    with pytest.raises(InputError, match=r"no column for engine coolant temperature; .* it has 'Engine RPM'"):
        found.wanted("coolant")


def test_a_file_without_standard_parameters_is_refused_with_its_columns() -> None:
    with pytest.raises(InputError, match="holds no standard parameter; its columns are 'Boost'"):
        log("Time [s],Boost [kPa]\n0,100\n1,101\n2,102\n")


def test_typed_points_are_minutes_and_temperatures() -> None:
    found = typed_log("0:68, 5:118; 10:181 14:190", "F", ambient=20.0)
    coolant = found.wanted("coolant")
    assert coolant.times.tolist() == [0.0, 300.0, 600.0, 840.0]
    assert coolant.values[0] == pytest.approx(20.0)
    assert found.wanted("ambient").values.tolist() == [20.0]


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("0:20 5:48 8:70 12:88", "", "the unit of the typed temperatures is ''; say C or F"),
        ("0:20 5:48", "C", "2 points are too few"),
        ("0:20 5:48 hot 8:70 12:88", "C", "'hot' is no point"),
        ("0:20 8:70 5:48 12:88", "C", "must rise from one to the next"),
    ],
)
def test_typed_points_that_cannot_be_used_say_why(text: str, unit: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        typed_log(text, unit)


def test_typed_fahrenheit_called_celsius_would_boil() -> None:
    found = typed_log("0:68 5:118 10:181 14:190", "C")
    assert [d.kind for d in found.doubts] == ["boils"]
