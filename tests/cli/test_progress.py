"""A bar appears only when something takes longer than a moment."""

import sys
import time

import pytest

from proveout.cli import progress
from proveout.cli.progress import shown


def test_what_is_done_in_a_moment_shows_no_bar(capsys: pytest.CaptureFixture[str]) -> None:
    with shown("Computing") as move:
        move(0.5)
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("told", [True, False])
def test_what_takes_longer_shows_a_bar_on_standard_error_that_goes_at_the_end(
    told: bool, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(progress, "MOMENT", 0.01)
    monkeypatch.setenv("TTY_COMPATIBLE", "1")
    with shown("Computing") as move:
        deadline = time.monotonic() + 20.0
        while "Computing" not in (shown_so_far := capsys.readouterr().err):
            assert time.monotonic() < deadline
            if told:
                move(0.5)
            time.sleep(0.05)
        assert "Computing" in shown_so_far
    assert "rich" in sys.modules
    assert capsys.readouterr().out == ""


def test_a_bar_goes_when_the_work_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "MOMENT", 0.01)
    with pytest.raises(ValueError, match="bad"), shown("Computing"):
        time.sleep(0.1)
        raise ValueError("bad")
