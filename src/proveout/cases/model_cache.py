"""Compiled circuits kept on disk, so that a command need not compute again what an earlier one has computed."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from proveout import __version__
from proveout.cases.case_state import CaseState
from proveout.circuits.schema import Circuit
from proveout.diagnosis.model import SEVERITIES, Model, compile_model, load_model
from proveout.errors import InputError
from proveout.instruments import Meter, default_meter, read_meter

__all__ = ["ModelCache", "meter_of"]

Progress = Callable[[float], None]


def meter_of(state: CaseState) -> Meter:
    """Return the meter of a case."""
    return read_meter(state.opened.meter, "the case's meter") if state.opened.meter else default_meter()


class ModelCache:
    """A folder of compiled circuits; the key is the circuit, the meter and this program's version.

    The folder is a convenience: when it cannot be read or written, circuits are compiled each time.

    Parameters
    ----------
    folder : Path or None
        None keeps nothing.
    keep : int
        How many compiled circuits stay; the ones unused for longest go first.
    """

    def __init__(self, folder: Path | None, keep: int = 24) -> None:
        self._folder = folder
        self._keep = keep

    def model(self, circuit: Circuit, meter: Meter, progress: Progress | None = None) -> Model:
        """Return the compiled circuit, from the folder when it is there; raises as `compile_model`."""
        if self._folder is None:
            return compile_model(circuit, meter, progress)
        path = self._folder / f"{_key(circuit, meter)}.npz"
        if path.is_file():
            with suppress(InputError):
                model = load_model(path, circuit, meter)
                with suppress(OSError):
                    path.touch()
                return model
        model = compile_model(circuit, meter, progress)
        with suppress(OSError):
            self._store(model, path)
        return model

    def _store(self, model: Model, path: Path) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        # A reader never sees half a file: it is written beside its place and moved there.
        with tempfile.TemporaryDirectory(dir=path.parent) as aside:
            model.save(Path(aside) / path.name)
            (Path(aside) / path.name).replace(path)
        stored = sorted(path.parent.glob("*.npz"), key=lambda file: file.stat().st_mtime, reverse=True)
        for old in stored[self._keep :]:
            old.unlink()


def _key(circuit: Circuit, meter: Meter) -> str:
    content = "\n".join([__version__, str(SEVERITIES), repr(meter), circuit.model_dump_json(by_alias=True)])
    return hashlib.sha256(content.encode()).hexdigest()
