"""Compiled circuits are kept: the second command reads what the first computed."""

from pathlib import Path

import numpy as np
import pytest

from cases.lamps import a_desk, lamp, lamp_opened
from proveout.cases import model_cache
from proveout.cases.model_cache import ModelCache, meter_of
from proveout.circuits import read_circuit
from proveout.errors import InputError
from proveout.instruments import default_meter


def test_a_kept_circuit_is_the_one_that_was_compiled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = ModelCache(tmp_path).model(lamp(), default_meter())
    monkeypatch.setattr(model_cache, "compile_model", None)
    again = ModelCache(tmp_path).model(lamp(), default_meter())
    np.testing.assert_array_equal(again.predictions.mean, first.predictions.mean)
    assert again.suspects == first.suspects


def test_a_circuit_with_another_value_is_compiled_anew(tmp_path: Path) -> None:
    ModelCache(tmp_path).model(lamp(), default_meter())
    text = lamp().model_dump_json(by_alias=True).replace("2.6", "2.7")
    ModelCache(tmp_path).model(read_circuit(text), default_meter())
    assert len(list(tmp_path.glob("*.npz"))) == 2


def test_a_damaged_file_is_made_anew(tmp_path: Path) -> None:
    good = ModelCache(tmp_path).model(lamp(), default_meter())
    (file,) = tmp_path.glob("*.npz")
    file.write_bytes(file.read_bytes()[:200])
    again = ModelCache(tmp_path).model(lamp(), default_meter())
    np.testing.assert_array_equal(again.predictions.mean, good.predictions.mean)
    assert len(file.read_bytes()) > 200


def test_a_folder_that_cannot_be_written_costs_time_only(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    assert ModelCache(tmp_path / "file" / "cache").model(lamp(), default_meter()).suspects
    assert ModelCache(None).model(lamp(), default_meter()).suspects


def test_the_circuits_unused_for_longest_go_first(tmp_path: Path) -> None:
    cache = ModelCache(tmp_path, keep=1)
    cache.model(lamp(), default_meter())
    (old,) = tmp_path.glob("*.npz")
    cache.model(read_circuit(lamp().model_dump_json(by_alias=True).replace("2.6", "2.7")), default_meter())
    (kept,) = tmp_path.glob("*.npz")
    assert kept != old


def test_a_case_without_a_meter_of_its_own_has_the_ordinary_one() -> None:
    desk, case = a_desk()
    assert meter_of(desk.state(case)) == default_meter()


def test_a_meter_with_mistakes_is_said_to_have_them() -> None:
    desk, case = a_desk(opened=lamp_opened(meter="name: x\n"))
    with pytest.raises(InputError, match=r"the case's meter: .*mistakes"):
        meter_of(desk.state(case))
