"""A recording attached to a case is evidence, stands in the record, and can be corrected like any other entry."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest

from cases.lamps import C1, a_desk, lamp_model, reading
from proveout.captures.archive import Archive
from proveout.cases.attaching import attach_file
from proveout.cases.case_state import CaseState
from proveout.cases.desk import Desk
from proveout.cases.entry_text import entry_text
from proveout.cases.events import CaptureAttached, Closed, Correction, RepairNoted, decode, encode
from proveout.cases.history import believe, histories
from proveout.diagnosis.evidence import ReadingTaken
from proveout.errors import BlockedError, InputError, StoreError


def recording(folder: Path, level: float, channels: int = 1) -> Path:
    """Write a recording of an invented scope: a steady voltage with some noise."""
    rng = np.random.default_rng(1)
    columns = [np.arange(2000) / 1000, *(level + rng.normal(0, 0.01, 2000) for _ in range(channels))]
    rows = [",".join(f"{value:.4f}" for value in row) for row in zip(*columns, strict=True)]
    heads = ",".join(["Time (s)", *(f"{chr(65 + k)} (V)" for k in range(channels))])
    path = folder / "lamp.csv"
    path.write_text("\n".join([heads, *rows]) + "\n", "utf-8")
    return path


def attached(desk: Desk, case: int, folder: Path, level: float, measurement: str = "lamp_volts") -> CaptureAttached:
    """Return the event of a recording at a measurement."""
    file = recording(folder, level)
    return attach_file(desk.state(case), Archive(folder / "captures"), file, measurement)


def suspects(state: CaseState) -> dict[str, float]:
    belief = believe(lamp_model(), state)
    return {o.suspect: o.probability for o in belief.suspects()}


def test_a_recording_moves_the_suspects_as_the_reading_does(tmp_path: Path) -> None:
    desk, case = a_desk(C1)
    desk.record(case, attached(desk, case, tmp_path, 9.0))
    other, its = a_desk(C1, reading("lamp_volts", "9.00"))
    by_capture, by_reading = suspects(desk.state(case)), suspects(other.state(its))
    assert by_capture == pytest.approx(by_reading, abs=0.05)
    assert max(by_capture, key=lambda name: by_capture[name]) == max(by_reading, key=lambda name: by_reading[name])


def test_what_it_showed_and_what_that_did_stands_in_the_history(tmp_path: Path) -> None:
    desk, case = a_desk(C1)
    desk.record(case, attached(desk, case, tmp_path, 9.0))
    state = desk.state(case)
    row = histories(lamp_model(), state)[-1]
    text = entry_text(row.entry.event, state.circuit)
    assert text.startswith("Voltage at the lamp: 9.00 V")
    assert "lamp.csv" in text
    assert row.verdict == "bad"
    assert row.limit is not None
    assert row.consequence is not None
    assert state.minutes > 0


def test_the_bytes_are_kept_under_their_fingerprint(tmp_path: Path) -> None:
    desk, case = a_desk(C1)
    event = attached(desk, case, tmp_path, 12.1)
    original = (tmp_path / "lamp.csv").read_bytes()
    assert event.sha256 == hashlib.sha256(original).hexdigest()
    assert Archive(tmp_path / "captures").checked(event.sha256).read_bytes() == original


def test_the_findings_are_read_back_as_they_were_recorded(tmp_path: Path) -> None:
    desk, case = a_desk(C1)
    event = attached(desk, case, tmp_path, 12.1)
    again = decode(event.kind, event.version, encode(event))
    assert again == event
    assert isinstance(again, CaptureAttached)
    assert next(again.found.of("mean", "A")).value == pytest.approx(12.1, abs=0.01)


def test_a_correction_puts_it_at_another_measurement_or_takes_it_back(tmp_path: Path) -> None:
    desk, case = a_desk(C1)
    number = desk.record(case, attached(desk, case, tmp_path, 9.0)).stored.number
    moved = desk.record(case, desk.replacement(case, number, {"measurement": "battery_volts"})).stored.number
    (taken,) = (e for e in desk.state(case).evidence if isinstance(e, ReadingTaken))
    assert taken.measurement == "battery_volts"
    desk.record(case, Correction(corrects=moved))
    desk.record(case, Correction(corrects=number))
    assert not any(isinstance(e, ReadingTaken) for e in desk.state(case).evidence)


def test_after_the_repair_it_shows_the_repair(tmp_path: Path) -> None:
    desk, case = a_desk(C1, RepairNoted(suspect="w_feed"))
    desk.record(case, attached(desk, case, tmp_path, 12.1))
    entry = desk.state(case).entries[-1]
    assert entry.evidence == ()
    assert entry.held


def test_no_recording_where_no_probe_may_go(tmp_path: Path) -> None:
    desk, case = a_desk()
    with pytest.raises(BlockedError, match="before its colours were compared"):
        attached(desk, case, tmp_path, 9.0)
    assert not (tmp_path / "captures").exists()
    event = attached(*a_desk(C1), tmp_path, 9.0)
    with pytest.raises(BlockedError, match="before its colours were compared"):
        desk.record(case, event)


def test_an_ohms_test_is_no_place_for_a_recording(tmp_path: Path) -> None:
    desk, case = a_desk(C1)
    with pytest.raises(InputError, match="no capture answers"):
        attached(desk, case, tmp_path, 9.0, "ground_ohms")
    event = attached(desk, case, tmp_path, 9.0)
    with pytest.raises(InputError, match="no capture answers"):
        desk.record(case, event.model_copy(update={"measurement": "ground_ohms"}))


def test_two_channels_need_a_name(tmp_path: Path) -> None:
    desk, case = a_desk(C1)
    file = recording(tmp_path, 9.0, channels=2)
    archive = Archive(tmp_path / "captures")
    with pytest.raises(InputError, match=r"2 channels in V.*--channel"):
        attach_file(desk.state(case), archive, file, "lamp_volts")
    assert attach_file(desk.state(case), archive, file, "lamp_volts", channel="B").channel == "B"


def test_a_closed_case_takes_no_recording(tmp_path: Path) -> None:
    desk, case = a_desk(C1, Closed(proven=False, because="sold"))
    with pytest.raises(BlockedError, match="closed"):
        attached(desk, case, tmp_path, 9.0)


def test_findings_of_another_file_are_refused(tmp_path: Path) -> None:
    event = attached(*a_desk(C1), tmp_path, 9.0)
    text = encode(event).replace(f'"sha256":"{event.sha256}"', f'"sha256":"{"0" * 64}"', 1)
    with pytest.raises(StoreError, match="belongs to another file"):
        decode(event.kind, event.version, text)
