"""The fit against vehicles of other equations, integrated by scipy, with noise; against real drives elsewhere."""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis.warmup.drives import made_drive, steady_drive
from proveout.diagnosis.warmup import Drive, finding_of, fit_warm_up
from proveout.errors import InputError

ZERO = 273.15
CASES = [(11, 82.0, 12.0), (12, 88.0, -5.0), (13, 76.0, 20.0), (14, 91.0, 8.0)]


@pytest.mark.parametrize(("seed", "starts", "ambient"), CASES)
def test_the_opening_temperature_is_found_within_its_interval(seed: int, starts: float, ambient: float) -> None:
    drive, _ = made_drive(seed, 3000, starts, 0.005, ambient)
    fit = fit_warm_up(drive)
    assert fit.reached > 0.95
    assert fit.opening[1] - ZERO == pytest.approx(starts, abs=2.5)
    assert fit.opening[0] - 0.5 <= starts + ZERO <= fit.opening[2] + 0.5


def test_a_short_drive_says_that_it_cannot_tell() -> None:
    drive, opened = made_drive(21, 500, 88.0, 0.005, 0.0)
    finding = finding_of(fit_warm_up(drive))
    assert opened == 0.0
    assert finding.verdict == "cannot tell"
    assert finding.opening is None
    assert finding.least_opening == pytest.approx(drive.hottest - ZERO)
    assert "where it opens it cannot tell" in finding.sentences[0]


def test_a_shorter_drive_leaves_the_leakage_less_certain() -> None:
    long, short = (fit_warm_up(made_drive(22, seconds, 88.0, 0.01, 5.0)[0]) for seconds in (2400, 420))
    assert short.leakage_error > 1.5 * long.leakage_error


def test_a_valve_that_stays_ajar_is_told_from_a_sound_one() -> None:
    ajar = finding_of(fit_warm_up(made_drive(23, 2400, 88.0, 0.15, 0.0)[0]))
    sound = finding_of(fit_warm_up(made_drive(23, 2400, 88.0, 0.003, 0.0)[0]))
    assert ajar.leaking > 0.9
    assert sound.leaking < 0.1
    assert ajar.verdict in ("leaks", "cannot tell")
    assert sound.verdict != "leaks"
    # What a sound one would have shown on the drive of the ajar one: it warms up.
    assert ajar.healthy.coolant[1].max() > ajar.leakage.value is not None
    assert ajar.healthy.coolant[1].max() - ZERO > 80.0


def test_one_that_opens_at_70_of_88_degrees_opens_too_early() -> None:
    finding = finding_of(fit_warm_up(made_drive(24, 2400, 70.0, 0.005, 15.0)[0]))
    assert finding.verdict == "opens early"
    assert finding.opening is not None
    assert finding.opening.value == pytest.approx(70.0, abs=2.5)


def test_the_healthy_trace_of_a_sound_vehicle_is_its_own_until_the_valve_hunts() -> None:
    drive, _ = made_drive(25, 2400, 88.0, 0.005, 10.0)
    healthy = finding_of(fit_warm_up(drive)).healthy
    before = healthy.coolant[1] < 350.0
    logged = np.interp(healthy.times[before], np.arange(drive.coolant.size), drive.coolant)
    assert np.abs(healthy.coolant[1][before] - logged).mean() < 2.0


def test_a_gap_in_the_log_starts_afresh_and_is_not_filled() -> None:
    drive, _ = made_drive(28, 2400, 85.0, 0.005, 10.0)
    coolant = drive.coolant.copy()
    coolant[200:260] = np.nan
    broken = Drive(coolant, drive.air, drive.speed, drive.pedal, drive.road, drive.ambient, resumed=(260,))
    fit = fit_warm_up(broken)
    assert fit.opening[1] - ZERO == pytest.approx(85.0, abs=2.5)


def test_celsius_is_refused_where_kelvin_is_meant() -> None:
    with pytest.raises(InputError, match="must be in kelvin"):
        steady_drive(100, 0.01, 30.0, 10.0, 280.0, start=20.0)


def test_a_drive_of_half_a_minute_is_refused() -> None:
    with pytest.raises(InputError, match="30 s long; a warm-up needs at least 60 s"):
        steady_drive(30, 0.01, 30.0, 10.0, 280.0, start=290.0)
