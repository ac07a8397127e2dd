"""Ready circuits compiled once for the tests of the diagnosis."""

from __future__ import annotations

from functools import lru_cache

from proveout.circuits import ready_chart, ready_circuit
from proveout.diagnosis import Belief, Model, Shop, compile_model
from proveout.diagnosis.chart import derive_chart
from proveout.diagnosis.chart_model import Chart
from proveout.diagnosis.service import service_tree
from proveout.instruments import default_meter

__all__ = ["derived", "model", "service"]


@lru_cache(maxsize=12)
def model(name: str) -> Model:
    """Return a compiled ready circuit."""
    return compile_model(ready_circuit(name), default_meter())


@lru_cache(maxsize=12)
def derived(name: str) -> Chart:
    """Return the chart derived from a ready circuit in a default shop."""
    return derive_chart(Belief.start(model(name)), Shop())


@lru_cache(maxsize=12)
def service(name: str) -> Chart:
    """Return the service chart of a ready circuit as a tree."""
    return service_tree(Belief.start(model(name)), ready_chart(name), Shop())
