"""An ohms test is refused where this case has just read a voltage (common practice: never ohms on a live circuit)."""

from __future__ import annotations

import pytest

from proveout.cases.permission import check_dead
from proveout.circuits import Circuit, ready_circuit
from proveout.circuits.schema import Measurement
from proveout.diagnosis.evidence import ReadingTaken
from proveout.diagnosis.steps import Step, steps_of
from proveout.errors import BlockedError
from proveout.instruments import Reading


def _with_volts_beside_ohms() -> tuple[Circuit, str]:
    """A ready circuit with a volts measurement at the places of its first ohms measurement, in the same set-up."""
    circuit = ready_circuit("coolant-ntc")
    name, ohms = next((n, m) for n, m in circuit.measurements.items() if m.function == "ohms")
    volts = Measurement(setup=ohms.setup, function="volts_dc", red=ohms.black, black=ohms.red, title="Volts there")
    return circuit.model_copy(update={"measurements": {**circuit.measurements, "volts_there": volts}}), name


def _read(volts: float) -> tuple[ReadingTaken, ...]:
    return (
        ReadingTaken("volts_there", Reading(volts, over_limit=False, shown=f"{volts} V", unit="V", resolution=0.001)),
    )


def _step(circuit: Circuit, name: str) -> Step:
    return next(step for step in steps_of(circuit) if step.name == name)


def test_ohms_are_refused_where_a_voltage_was_read_with_either_lead_up() -> None:
    circuit, name = _with_volts_beside_ohms()
    with pytest.raises(BlockedError, match="no ohms test at"):
        check_dead(circuit, _read(-0.4), _step(circuit, name))


def test_ohms_go_ahead_where_the_place_was_read_dead() -> None:
    circuit, name = _with_volts_beside_ohms()
    check_dead(circuit, _read(0.02), _step(circuit, name))


def test_every_ohms_step_says_never_on_a_live_circuit() -> None:
    circuit, name = _with_volts_beside_ohms()
    assert "no-ohms-live" in _step(circuit, name).cautions
