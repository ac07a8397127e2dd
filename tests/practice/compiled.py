"""Ready circuits compiled once for the tests of practice, and what a practice needs."""

from __future__ import annotations

from functools import lru_cache

from proveout.cases.desk import Desk
from proveout.cases.memory_store import MemoryStore
from proveout.circuits import Circuit, ready_circuit
from proveout.diagnosis import Model, compile_model
from proveout.instruments import Meter, default_meter
from proveout.practice import PracticeBook

__all__ = ["book", "model", "models"]


@lru_cache(maxsize=12)
def model(name: str) -> Model:
    """Return a compiled ready circuit."""
    return compile_model(ready_circuit(name), default_meter())


def models(circuit: Circuit, meter: Meter) -> Model:
    """Return the compiled ready circuit; the meter is the ordinary one."""
    return model(circuit.name)


def book(desk: Desk | None = None) -> PracticeBook:
    """Return a practice book, by default in memory."""
    return PracticeBook(desk or Desk(MemoryStore()), models)
