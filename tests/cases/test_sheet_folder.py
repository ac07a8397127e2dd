"""The workshop's own sheets: numbered files, never half written, and nothing typed is lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.cases.sheet_folder import SheetFolder
from proveout.circuits import ready_text
from proveout.errors import CircuitError, InputError, StoreError

TEXT = ready_text("coolant-ntc")


def test_sheets_are_numbered_and_read_back_as_they_were_written(tmp_path: Path) -> None:
    sheets = SheetFolder(tmp_path / "sheets")
    assert sheets.numbers() == ()
    assert [sheets.add(TEXT), sheets.add(TEXT)] == [1, 2]
    assert sheets.numbers() == (1, 2)
    assert sheets.text(2) == TEXT
    assert sheets.circuit(1).name == "coolant-ntc"


def test_a_file_with_mistakes_is_not_kept_as_a_sheet(tmp_path: Path) -> None:
    sheets = SheetFolder(tmp_path)
    with pytest.raises(CircuitError, match="line"):
        sheets.add(TEXT.replace("kind: wire", "kind: wier", 1))
    assert sheets.numbers() == ()
    number = sheets.add(TEXT)
    with pytest.raises(CircuitError):
        sheets.put(number, "schema: 1\n")
    assert sheets.text(number) == TEXT


def test_what_does_not_fit_yet_is_kept_beside_the_sheet_until_it_fits(tmp_path: Path) -> None:
    number = SheetFolder(tmp_path).add(TEXT)
    SheetFolder(tmp_path).keep_open(number, {"vehicle.year": "19"}, "parts: [")
    again = SheetFolder(tmp_path)
    assert again.open_answers(number) == {"vehicle.year": "19"}
    assert again.open_text(number) == "parts: ["
    again.keep_open(number, {})
    assert again.open_answers(number) == {}
    assert again.open_text(number) == ""


def test_only_numbers_name_a_sheet(tmp_path: Path) -> None:
    sheets = SheetFolder(tmp_path)
    (tmp_path / "sheet-007.yaml").write_text(TEXT)
    (tmp_path / "other.yaml").write_text(TEXT)
    assert sheets.numbers() == ()
    with pytest.raises(InputError, match="no sheet 3"):
        sheets.text(3)
    with pytest.raises(InputError, match="no sheet 3"):
        sheets.keep_open(3, {"a": "b"})


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(StoreError, match="cannot be kept"):
        SheetFolder(tmp_path / "taken").add(TEXT)
