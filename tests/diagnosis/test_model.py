"""A compiled circuit on disk."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from diagnosis import divider
from diagnosis.ready import model
from proveout.diagnosis import Belief, ReadingTaken, compile_model, load_model
from proveout.errors import InputError
from proveout.instruments import default_meter


def test_a_saved_model_gives_the_same_belief(tmp_path: Path) -> None:
    known, path = divider.model(), tmp_path / "compiled.npz"
    known.save(path)
    loaded = load_model(path, known.circuit, known.meter)
    reading = ReadingTaken("at_pin", known.meter.read(known.function("at_pin"), 4.2))
    one, other = (Belief.start(m).after(reading) for m in (known, loaded))
    assert np.array_equal(one.weight, other.weight)


def test_a_file_of_another_circuit_or_no_file_is_refused_with_what_to_do(tmp_path: Path) -> None:
    known, path = divider.model(), tmp_path / "compiled.npz"
    known.save(path)
    other = model("coolant-ntc")
    with pytest.raises(InputError, match="belongs to another circuit"):
        load_model(path, other.circuit, other.meter)
    path.write_bytes(b"not a file of arrays")
    with pytest.raises(InputError, match="delete it"):
        load_model(path, known.circuit, known.meter)
    with pytest.raises(InputError, match="cannot be read"):
        load_model(tmp_path / "nothing.npz", known.circuit, known.meter)


def test_progress_is_told_from_nothing_to_all() -> None:
    told: list[float] = []
    compile_model(divider.model().circuit, default_meter(), told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
