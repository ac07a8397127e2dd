"""A capture beside a known-good one: what was changed is said, and what was not is not."""

import json
from dataclasses import replace

import numpy as np
import pytest

from captures.synthetic import HALL, RELUCTANCE, Sensor, cranking, missing_teeth, record, steady
from proveout.captures import Capture, Channel, Clock, Origin
from proveout.captures.analyse import study_of
from proveout.captures.compare import compare, matched_channels, overlay
from proveout.errors import InputError


def made(
    sensor: Sensor, seed: int, *, name: str = "CKP", rpm: float = 700, ripple: float = 0.0, lost: int = 0
) -> Capture:
    motion = cranking(rpm, 20, ripple=ripple) if ripple else steady(rpm, 20)
    rng = np.random.default_rng(seed)
    found = record(missing_teeth(60, 2), motion, sensor, rng, samples_a_tooth=30, noise_db=30, lost=lost)
    clock = Clock(rate=found.rate)
    return Capture((Channel(name, "V", found.samples, clock),), Origin(f"{name} {seed}", "numpy", 0, "0" * 64))


def test_a_lifted_low_level_is_the_change_that_is_said() -> None:
    good, bad = made(replace(HALL, low=0.1), 1), made(replace(HALL, low=0.6), 2)
    found = compare(bad, good)
    (row,) = [row for row in found.rows if row.name == "low level"]
    assert row.verdict == "changed"
    assert row.difference == pytest.approx(0.5, abs=0.01)
    assert any(change.startswith("low level of CKP: up from 0.") for change in found.changes)
    json.dumps(found.as_dict(), allow_nan=False)


def test_the_same_sensor_recorded_twice_has_not_changed_its_levels() -> None:
    found = compare(made(HALL, 3), made(HALL, 4))
    verdicts = {row.name: row.verdict for row in found.rows}
    assert {verdicts[name] for name in ("kind of signal", "low level", "high level", "wheel", "lost teeth")} == {"same"}


def test_a_weaker_coil_at_another_speed_is_told_as_a_wider_gap() -> None:
    # Spacing loss: amplitude falls with exp(-2 pi gap / pitch), so ln(5 / 3.5) / (2 pi) = 0.0568 pitches.
    good = made(RELUCTANCE, 5, rpm=200, ripple=0.3)
    bad = made(replace(RELUCTANCE, high=3.5), 6, rpm=170, ripple=0.3)
    (line,) = [change for change in compare(bad, good).changes if "gap" in change]
    assert "wider by" in line
    size = float(line.split("wider by ")[1].split()[0])
    assert size == pytest.approx(np.log(5 / 3.5) / (2 * np.pi), rel=0.1)


def test_the_same_coil_at_another_speed_is_no_wider_gap() -> None:
    found = compare(made(RELUCTANCE, 7, rpm=200, ripple=0.3), made(RELUCTANCE, 8, rpm=170, ripple=0.3))
    assert not [change for change in found.changes if "gap" in change or change.startswith("amplitude")]


def test_lost_teeth_come_first_among_the_changes() -> None:
    found = compare(made(HALL, 9, lost=2), made(HALL, 10))
    assert found.changes[0] == "lost teeth of CKP: up from 0 to 2"


def test_channels_are_paired_by_name_by_role_or_by_being_the_only_ones() -> None:
    first, second = study_of(made(HALL, 11)), study_of(made(HALL, 12, name="crankshaft"))
    assert matched_channels(first, second) == {"CKP": "crankshaft"}
    third = study_of(made(HALL, 13, name="x"))
    assert matched_channels(first, third) == {"CKP": "x"}


def test_captures_without_a_common_channel_are_refused() -> None:
    empty = Capture((Channel("a", "V", np.zeros(5), Clock(rate=1.0)),), Origin("empty", "numpy", 0, "0" * 64))
    with pytest.raises(InputError, match="has a counterpart"):
        compare(made(HALL, 14), empty)


def test_two_turns_at_other_speeds_lie_on_one_another_by_angle() -> None:
    first, second = study_of(made(HALL, 15, rpm=300)), study_of(made(HALL, 16, rpm=900))
    before, after = overlay(first, second, {"CKP": "CKP"})["CKP"]
    known = np.isfinite(before.middle) & np.isfinite(after.middle)
    assert known.mean() > 0.99
    assert np.mean(np.abs(before.middle - after.middle)[known] < 1.0) > 0.95
    assert before.turns > 10


def test_a_cam_that_jumped_a_tooth_is_told_in_crank_degrees() -> None:
    cam = missing_teeth(4, 1)

    def engine(shift: float, seed: int) -> Capture:
        rng = np.random.default_rng(seed)
        crank = record(missing_teeth(60, 2), steady(800, 40), HALL, rng, rate=20_000.0, noise_db=35)
        follower = record(cam.shifted(shift / 720), steady(400, 20), HALL, rng, rate=20_000.0, noise_db=35)
        size = min(crank.samples.size, follower.samples.size)
        channels = (("crank", crank.samples[:size]), ("cam", follower.samples[:size]))
        clock = Clock(rate=20_000.0)
        return Capture(tuple(Channel(n, "V", x, clock) for n, x in channels), Origin(f"{seed}", "numpy", 0, "0" * 64))

    changes = compare(engine(18.0, 17), engine(0.0, 18)).changes
    (line,) = [change for change in changes if change.startswith("the cam stands")]
    assert float(line.split("stands ")[1].split()[0]) == pytest.approx(18.0, abs=0.5)
    assert "later" in line
