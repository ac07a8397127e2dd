"""From a log to a drive: what a log lacks is worked out or asked for, and said."""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis.warmup.drives import real_log
from proveout.captures.readers import read
from proveout.diagnosis.warmup import drive_of, finding_of, fit_warm_up
from proveout.errors import InputError
from proveout.scan import Log, log_of, typed_log

POINTS = "0:20 2:35 4:50 6:63 8:75 10:84 12:88 14:88 16:87 18:88"


def made(columns: str, row: str) -> Log:
    rows = "\n".join(f"{k},{20 + 0.3 * k:.1f},{row}" for k in range(120))
    return log_of(read(f"Time [s],Coolant Temp [°C],{columns}\n{rows}\n".encode(), name="made.csv"))


def test_a_drive_begins_when_the_engine_runs() -> None:
    drive = drive_of(real_log("c"))
    assert drive.speed[0] > 5.0
    assert drive.coolant[0] - 273.15 == pytest.approx(3.0, abs=1.0)
    assert drive.duration < real_log("c").duration


def test_without_air_flow_the_manifold_pressure_gives_it() -> None:
    log = made("MAP [kPa],RPM [rpm],Ambient Temp [°C]", "40,2000,10")
    drive = drive_of(log)
    # Ideal gas: 1.5 l, half a turn each, 85 % filling, 40 kPa, 25 C.
    assert drive.air[0] == pytest.approx(0.5 * 1.5e-3 * 0.85 * (2000 / 60) * 40e3 / (287.05 * 298.15), rel=1e-6)
    assert any("worked out from manifold pressure" in note for note in drive.notes)


def test_without_ambient_the_lowest_intake_temperature_is_taken_and_said() -> None:
    drive = drive_of(made("MAF [g/s],RPM [rpm],Intake Air Temp [°C]", "9,2000,12"))
    assert drive.ambient[0] == pytest.approx(285.15)
    assert any("lowest intake air temperature, 12 °C" in note for note in drive.notes)


def test_without_any_air_temperature_it_is_asked_for() -> None:
    with pytest.raises(InputError, match="say how cold it was outside"):
        drive_of(made("MAF [g/s],RPM [rpm]", "9,2000"))


def test_typed_points_need_the_kind_of_drive() -> None:
    with pytest.raises(InputError, match=r"say one of idle \(standing at idle\)"):
        drive_of(typed_log(POINTS, "C", 20.0))


def test_typed_points_find_a_rough_opening_temperature() -> None:
    fit = fit_warm_up(drive_of(typed_log(POINTS, "C", 20.0), "town"))
    assert fit.opening[0] - 273.15 < 86.0 < fit.opening[2] - 273.15 + 2.0


def test_typed_points_that_stay_at_64_degrees_are_far_from_a_sound_trace() -> None:
    text = "0:20 2:33 4:45 6:52 8:57 10:60 12:62 14:63 16:63.5 18:64"
    finding = finding_of(fit_warm_up(drive_of(typed_log(text, "C", 20.0), "town")))
    assert finding.leaking > 0.9
    assert finding.healthy.coolant[0, -1] - 273.15 > 80.0


def test_temperatures_that_would_boil_are_not_fitted() -> None:
    with pytest.raises(InputError, match="say whether the column is in °F"):
        drive_of(typed_log("0:68 5:118 10:181 14:195", "C", 20.0), "town")


def test_between_typed_points_nothing_is_made_up() -> None:
    drive = drive_of(typed_log(POINTS, "C", 20.0), "town")
    assert int(np.isfinite(drive.coolant).sum()) == 10
