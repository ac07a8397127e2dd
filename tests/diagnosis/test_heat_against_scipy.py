"""Every prediction of the cooling circuits against scipy's integrator on equations of its own."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.circuits import ready_circuit
from proveout.diagnosis import compile_model
from proveout.instruments import Function, default_meter
from reference import Fault
from reference.heat import SINGLE, HeatVehicle

NEAR = 0.7  # K, a third of what a thermometer is sure to: a drive is taken in a few steps that grow
COLD = ["cooling-thermostat", "cooling-cold"]


@pytest.mark.parametrize("name", COLD)
def test_every_thermometer_under_every_fault_shows_what_scipy_says(name: str) -> None:
    circuit = ready_circuit(name)
    model = compile_model(circuit, default_meter())
    p = model.predictions
    rows: list[tuple[int, list[Fault]]] = [(0, [])]
    for variant in p.variants:
        fault = variant.faults[0]
        rows += [
            (variant.first + k, [(fault.part, fault.mode.name, float(variant.severities[0][k]))])
            for k in {0, variant.count // 2, variant.count - 1}
        ]
    for row, faults in rows:
        vehicle = HeatVehicle(circuit, faults)
        for measurement, described in circuit.measurements.items():
            if Function(described.function) in SINGLE:
                wanted = vehicle.reading(measurement)
                found = float(p.mean[row, model.column[measurement]])
                assert found == pytest.approx(wanted, abs=max(NEAR, 0.006 * abs(wanted))), (faults, measurement)


@pytest.mark.parametrize("name", COLD)
def test_behaviours_under_every_fault_are_those_of_scipy(name: str) -> None:
    circuit = ready_circuit(name)
    model = compile_model(circuit, default_meter())
    for variant in model.predictions.variants:
        fault, k = variant.faults[0], variant.count // 2
        vehicle = HeatVehicle(circuit, [(fault.part, fault.mode.name, float(variant.severities[0][k]))])
        for behaviour, described in circuit.behaviours.items():
            chance = model.behaviours[behaviour][variant.first + k]
            wanted = list(described.outcomes).index(vehicle.behaviour(behaviour))
            assert chance[wanted] > 0.2, (fault.reference, behaviour, np.round(chance, 2))


@pytest.mark.slow
def test_heat_and_wiring_in_one_case_agree_with_scipy_and_ngspice() -> None:
    circuit = ready_circuit("cooling-heated")
    model = compile_model(circuit, default_meter())
    p = model.predictions
    wanted_at = ("scan_driven", "scan_loaded", "position_warm", "position_cold", "heater_clamp", "upper_early")
    cases = {"": 0} | {v.faults[0].reference: v.first + v.count // 2 for v in p.variants if v.faults[0].part in
             ("thermostat", "position", "coolant_sensor", "fuse", "driver", "control_ground")}  # fmt: skip
    for reference, row in cases.items():
        variant = next((v for v in p.variants if v.first <= row < v.first + v.count), None)
        faults: list[Fault] = []
        if variant is not None:
            fault = variant.faults[0]
            faults = [(fault.part, fault.mode.name, float(variant.severities[0][row - variant.first]))]
        vehicle = HeatVehicle(circuit, faults)
        for measurement in wanted_at:
            wanted, found = vehicle.reading(measurement), float(p.mean[row, model.column[measurement]])
            assert found == pytest.approx(wanted, abs=max(0.05, 0.01 * abs(wanted))), (reference, measurement)
