"""Three real warm-ups of one healthy car: read as they are, and no thermostat condemned.

Recordings: M. Weber, KIT, 'Automotive OBD-II Dataset', doi:10.35097/1130, licence CC BY 4.0.
"""

from __future__ import annotations

import pytest

from diagnosis.warmup.drives import real_log
from proveout.diagnosis.warmup import drive_of, finding_of, fit_warm_up

ZERO = 273.15


@pytest.mark.parametrize("name", ["a", "b", "c"])
def test_no_thermostat_is_condemned(name: str) -> None:
    finding = finding_of(fit_warm_up(drive_of(real_log(name))))
    assert finding.verdict in ("sound", "cannot tell")
    assert finding.leaking < 0.1


def test_27_minutes_in_the_frost_that_end_at_70_degrees_are_what_a_sound_thermostat_shows() -> None:
    finding = finding_of(fit_warm_up(drive_of(real_log("c"))))
    low, _, high = finding.healthy.coolant[:, -1] - ZERO
    assert low < 70.0 < high


def test_the_short_drive_cannot_tell_where_the_valve_opens() -> None:
    fit = fit_warm_up(drive_of(real_log("a")))
    assert fit.reached < 0.1
    assert fit.opening[2] - fit.opening[0] > 20.0


def test_the_gaps_of_the_summer_drive_are_said_and_not_filled() -> None:
    drive = drive_of(real_log("a"))
    assert len(drive.resumed) == 3
    assert sum("nothing was logged from" in note for note in drive.notes) == 3
