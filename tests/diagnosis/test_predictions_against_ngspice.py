"""What the product predicts every meter to show, sound and under every fault, against ideal readings by ngspice.

A prediction may be off by no more than one standard uncertainty of the reading: the meter's accuracy, its leads, and
what the model says of itself (`rough`). Ohms on a place that is live are left out: that test is refused.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pytest

from proveout.circuits import ready_circuit
from proveout.diagnosis import Model, compile_model
from proveout.diagnosis.predict import Variant
from proveout.instruments import Function, default_meter, live
from reference import Fault, Situation, reading
from reference.electrical import electrical_names
from reference.readings import open_voltage

CELLS = (8, 24)  # of the severities of a fault mode
MOST_APART = 0.002  # share of the predictions that may be further off: those of a meter's load on a bent characteristic

KNOWN = {"p_ground_ohms_ku": 0.05}
"""Measurements known to be off by more, with the share allowed.

The product's ohmmeter has the test current of one range; what a two-level sensor shows of itself depends on it.
"""


@dataclass(frozen=True)
class Row:
    """A row of the predictions and the faults that it stands for."""

    number: int
    faults: Sequence[Fault]


def rows(variants: Sequence[Variant]) -> Iterator[Row]:
    """Yield the sound row, then two severities of each fault mode."""
    yield Row(0, ())
    for variant in variants:
        mode, grid = variant.faults[0].mode, variant.severities[0]
        for k in [k for k in CELLS if k < len(grid)] if len(grid) > 1 else [0]:
            value = None if mode.forced is not None else float(grid[k])
            yield Row(variant.first + k, [(variant.faults[0].part, mode.name, value)])


def far_off(model: Model, name: str, row: Row) -> str:
    """Return how a prediction differs from the reading, or an empty string where it does not."""
    circuit, predictions = model.circuit, model.predictions
    function, column = model.function(name), model.column[name]
    situation = Situation(circuit, circuit.measurements[name].setup, faults=row.faults)
    true, said = reading(situation, name, model.meter), float(predictions.mean[row.number, column])
    if _agree(model, function, true, said, float(predictions.rough[row.number, column])):
        return ""
    if name in KNOWN and abs(true - said) <= KNOWN[name] * true:
        return ""
    if function is Function.OHMS and live(open_voltage(situation, name)):
        return ""
    return f"{name}, {row.faults}: {said:.5g}, ngspice {true:.5g}"


def _agree(model: Model, function: Function, true: float, said: float, rough: float) -> bool:
    over = bool(model.meter.over_limit(function, said))
    if np.isinf(true) or over:
        return bool(np.isinf(true)) and over
    leads = model.meter.lead_uncertainty if function.kind == "resistance" else 0.0
    error = float(model.meter.standard_error(function, true))
    return abs(true - said) <= np.sqrt(error**2 + leads**2 + rough)


@pytest.mark.parametrize("circuit", electrical_names())
def test_a_sound_vehicle_reads_as_predicted(circuit: str) -> None:
    model = compile_model(ready_circuit(circuit), default_meter())
    found = [far_off(model, name, Row(0, ())) for name in model.circuit.measurements]
    assert [text for text in found if text] == []


@pytest.mark.slow
@pytest.mark.parametrize("circuit", electrical_names())
def test_a_faulty_vehicle_reads_as_predicted(circuit: str) -> None:
    model = compile_model(ready_circuit(circuit), default_meter())
    listed = [(name, row) for row in rows(model.predictions.variants) for name in model.circuit.measurements]
    found = [text for name, row in listed if (text := far_off(model, name, row))]
    assert len(found) <= MOST_APART * len(listed), found
