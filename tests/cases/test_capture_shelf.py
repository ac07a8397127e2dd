"""The shelf of captures: files kept unaltered, what was said of each, and nothing lost."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from proveout.captures.readers import ChannelOverrule, Overrules
from proveout.cases.capture_shelf import CaptureShelf
from proveout.errors import InputError, StoreError

AT = datetime(2026, 3, 4, 5, 6, tzinfo=UTC)
CSV = b"Time;Crank\n(ms);(V)\n" + b"".join(
    f"{k / 10:.1f};{5 * (k % 20 < 10)}\n".replace(".", ",").encode() for k in range(400)
)


def _put(shelf: CaptureShelf, content: bytes = CSV, name: str = "crank.csv") -> int:
    return shelf.put(shelf.receive(io.BytesIO(content)), name, AT).number


def test_a_file_is_kept_as_it_came_and_its_samples_are_read(tmp_path: Path) -> None:
    shelf = CaptureShelf(tmp_path)
    number = _put(shelf)
    entry = shelf.get(number)
    assert (entry.number, entry.name, entry.at) == (1, "crank.csv", AT)
    assert shelf.archive.checked(entry.sha256).read_bytes() == CSV
    channel = shelf.open(number).channels[0]
    assert channel.unit == "V"
    assert channel.clock.rate == pytest.approx(10_000.0)
    assert list((tmp_path / "arriving").iterdir()) == []


def test_what_was_said_is_kept_by_adding_and_survives_a_restart(tmp_path: Path) -> None:
    shelf = CaptureShelf(tmp_path)
    number = _put(shelf)
    before = (tmp_path / "shelf.jsonl").read_text()
    said = Overrules(rate=5_000.0, channels={"Crank": ChannelOverrule(attenuation=10.0)})
    shelf.say(number, said, {"Crank": "crank sensor"})
    assert (tmp_path / "shelf.jsonl").read_text().startswith(before)
    again = CaptureShelf(tmp_path)
    assert again.get(number).overrules == said
    assert again.get(number).roles == {"Crank": "crank sensor"}
    assert float(np.max(again.open(number).channels[0].samples)) == pytest.approx(50.0)
    assert again.belongs(number, 7).case == 7


def test_what_cannot_be_is_not_said(tmp_path: Path) -> None:
    shelf = CaptureShelf(tmp_path)
    number = _put(shelf)
    with pytest.raises(InputError):
        shelf.say(number, Overrules(channels={"Cam": ChannelOverrule(unit="furlong")}), {})
    assert shelf.get(number).overrules == Overrules()


def test_a_file_that_cannot_be_read_leaves_nothing(tmp_path: Path) -> None:
    shelf = CaptureShelf(tmp_path)
    for content in (b"", b"\x00\x01\x02" * 100):
        with pytest.raises(InputError):
            _put(shelf, content)
    assert shelf.all() == ()
    assert list((tmp_path / "arriving").iterdir()) == []


def test_the_same_file_twice_is_two_captures_of_one_original(tmp_path: Path) -> None:
    shelf = CaptureShelf(tmp_path)
    assert [_put(shelf), _put(shelf, name="../../again.csv")] == [1, 2]
    assert len({entry.sha256 for entry in shelf.all()}) == 1
    assert sum(path.is_file() for path in (tmp_path / "originals").rglob("*")) == 1


def test_a_damaged_list_is_said_and_a_capture_that_is_not_there_too(tmp_path: Path) -> None:
    shelf = CaptureShelf(tmp_path)
    with pytest.raises(InputError, match="no capture 1"):
        shelf.get(1)
    (tmp_path / "shelf.jsonl").write_text("{}\n")
    with pytest.raises(StoreError, match="damaged line"):
        CaptureShelf(tmp_path).all()
