"""The demo's story fits its sheet, and says everywhere that it is invented."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest

from demo.story import STATES, readings, scenario, sheet
from proveout.cases.events import Opened
from proveout.cases.folding import complaint_evidence
from proveout.cases.identification import check_digit
from proveout.circuits import access_closure
from proveout.circuits.assemble import assemble, tolerances
from proveout.circuits.harness import compare_harness
from proveout.circuits.schema import Value
from proveout.diagnosis.faults import enumerate_faults
from proveout.instruments import Function, default_meter
from proveout.instruments.parsing import parse_reading


def test_every_file_of_the_demo_says_that_it_is_invented() -> None:
    folder = files("proveout.demo")
    for name in ("scenario.yaml", scenario()["circuit"], scenario()["readings"]):
        assert "invented" in folder.joinpath(name).read_text(encoding="utf-8").casefold(), name
    for state in STATES:
        for deck in folder.joinpath("netlists", state).iterdir():
            assert deck.read_text(encoding="ascii").startswith("* Invented"), deck.name
    assert scenario()["invented"] is True
    assert Opened.model_validate(scenario()["opening"]).invented


def test_the_identification_number_carries_its_check_digit_and_its_model_year() -> None:
    number = scenario()["opening"]["vehicle"]["identification"]
    assert number[8] == check_digit(number)  # 49 CFR 565.15 (c)
    assert number[9] == "H"  # 49 CFR 565.15 (d), table VII: model year 2017
    assert scenario()["opening"]["vehicle"]["year"] == sheet().vehicle.year == 2017  # type: ignore[union-attr]


def test_complaint_and_code_are_what_the_faulted_vehicle_does() -> None:
    opening = Opened.model_validate(scenario()["opening"])
    told = complaint_evidence(sheet(), opening.complaint, opening.codes)
    seen = {name: outcome["before"] for name, outcome in readings()["behaviours"].items()}
    assert {(e.name, e.outcome) for e in told} == {(name, seen[name]) for name in ("start", "p0335")}  # type: ignore[union-attr]


@pytest.mark.parametrize("group", ["measurements", "behaviours", "looks", "trials"])
def test_the_readings_cover_the_sheet_and_nothing_else(group: str) -> None:
    assert readings()[group].keys() == getattr(sheet(), group).keys()


def test_every_outcome_is_one_of_the_sheet() -> None:
    for group in ("behaviours", "looks"):
        for name, seen in readings()[group].items():
            assert set(seen.values()) <= getattr(sheet(), group)[name].outcomes.keys(), name
    assert {seen["before"] for seen in readings()["trials"].values()} <= {"cured", "same"}


def test_the_harness_agrees_with_the_sheet_at_every_connector() -> None:
    assert readings()["harness"].keys() == sheet().connectors.keys()
    for connector, seen in readings()["harness"].items():
        assert compare_harness(sheet(), connector, seen).complete, connector


def test_what_is_typed_reads_back_as_what_the_meter_shows() -> None:
    meter = default_meter()
    for name, seen in readings()["measurements"].items():
        function = Function(sheet().measurements[name].function)
        for state in STATES:
            read = parse_reading(seen[state]["shown"], function, meter)
            assert read.over_limit is (seen[state]["shown"] == "OL"), name
            if not read.over_limit:
                assert read.value == meter.read(function, seen[state]["value"]).value, name


def test_the_fault_is_one_that_the_sheet_knows_and_its_repair_is_the_one_that_is_done() -> None:
    truth = scenario()["truth"]
    fault = next(f for f in enumerate_faults(assemble(sheet())) if f.reference == f"{truth['part']}.{truth['mode']}")
    assert fault.mode.low <= truth["severity"] <= fault.mode.high
    assert fault.suspect == truth["suspect"] == scenario()["repair"]["suspect"]


def test_the_drawn_values_lie_within_one_and_a_half_times_their_limits() -> None:
    drawn = dict(readings()["drawn"])
    for part, parameter, deviation, _ in tolerances(assemble(sheet())):
        given = sheet().parts[part].values[parameter]
        assert isinstance(given, Value)
        assert abs(drawn.pop(f"{part}.{parameter}") / given.value - 1.0) <= 3.0 * deviation
    assert not drawn


def test_the_repair_brings_every_reading_within_the_limits_and_every_behaviour_to_good() -> None:
    for name, seen in readings()["measurements"].items():
        assert _within(name, seen["after"]), name
    for name, outcome in readings()["behaviours"].items():
        assert sheet().behaviours[name].outcomes[outcome["after"]].good, name
    assert scenario()["proof"] == {"behaviour": sheet().proof, "outcome": readings()["behaviours"]["start"]["after"]}


def test_a_hasty_garage_would_have_condemned_the_sensor() -> None:
    """Reference good, no pulses, ground wire good by ohms: what is left looks like the sensor, but it is starved."""
    measured = readings()["measurements"]
    good = ["reference_at_ce", "reference_at_cs", "unit_low_ohms", "ref_continuity", "low_continuity", "sig_continuity"]
    assert all(_within(name, measured[name]["before"]) for name in good)
    assert not _within("signal_swing_at_ce", measured["signal_swing_at_ce"]["before"])
    assert not _within("low_drop_at_ce", measured["low_drop_at_ce"]["before"])
    sensor, terminal = sheet().units["crank_sensor"].repair, sheet().repairs["ce_terminal"]
    assert "intake" in access_closure(sheet(), sensor.access)
    assert "intake" not in access_closure(sheet(), terminal.access)
    assert sheet().access["intake"].minutes > scenario()["opening"]["authorised_minutes"]


def _within(name: str, seen: dict[str, Any]) -> bool:
    limit = sheet().measurements[name].limit
    assert limit is not None
    if limit.open or seen["shown"] == "OL":
        return bool(limit.open) == (seen["shown"] == "OL")
    value = float(seen["value"])
    return (limit.low is None or value >= limit.low) and (limit.high is None or value <= limit.high)
