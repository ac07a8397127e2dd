"""`proveout warmup`: a trace read without a case, and entered into one.

The real log is one of M. Weber, KIT, 'Automotive OBD-II Dataset', doi:10.35097/1130, licence CC BY 4.0.
"""

from __future__ import annotations

from pathlib import Path

from cli.running import Garage

RECORDINGS = Path(__file__).parents[1] / "recordings"
POINTS = "0:18 3:37 6:55 9:71 12:84 15:88 18:88"


def test_a_real_log_is_read_and_no_thermostat_condemned(garage: Garage) -> None:
    twin = garage.twin("warmup", "read", str(RECORDINGS / "warmup-c.csv.gz"))
    assert twin["verdict"] == "cannot tell"
    low, middle, high = twin["trace"][-1]["sound"]
    assert low < 70.0 < high
    assert "condemns nothing" in twin["sentences"][-1]
    assert middle < 88.0


def test_typed_points_say_what_was_supposed(garage: Garage) -> None:
    out = garage.ok("warmup", "read", "--points", POINTS, "--unit", "C", "--ambient", "12", "--drive", "town")
    assert "supposed is town traffic" in out
    assert "sound thermostat" in out


def test_typed_points_without_a_unit_ask_for_it(garage: Garage) -> None:
    assert "say C or F" in garage.refused("warmup", "read", "--points", POINTS, "--drive", "town")


def test_neither_file_nor_points_is_a_mistake(garage: Garage) -> None:
    assert "give either a log file or --points" in garage.refused("warmup", "read")


def test_a_trace_enters_a_case_as_readings_and_a_note(garage: Garage) -> None:
    garage.ok("open", "--circuit", "cooling-cold", "--complaint", "gauge=low", "--code", "P0128")
    arguments = ["--points", "0:18 3:30 6:41 9:50 12:57 15:61 18:64 24:65 30:65", "--unit", "C", "--ambient", "12"]
    twin = garage.twin("warmup", "attach", *arguments, "--drive", "town", "--minutes", "20")
    assert twin["entries"][0]["minutes"] == 20
    events = garage.ok("log")
    assert "fit of a logged warm-up" in events
    assert "Warm-up from typed points." in events


def test_a_circuit_without_such_measurements_says_so(garage: Garage) -> None:
    garage.ok("open", "--circuit", "crank-hall-5v", "--complaint", "start=late")
    said = garage.refused("warmup", "attach", "--points", POINTS, "--unit", "C", "--ambient", "12", "--drive", "town")
    assert "no measurement that a fitted warm-up answers" in said
