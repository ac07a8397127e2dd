"""What gauges and meters would show of the brake boosters, against scipy on equations of their own."""

from __future__ import annotations

from functools import cache

import pytest

from proveout.circuits import Circuit, ready_circuit
from proveout.circuits.altitude import at_altitude
from proveout.circuits.assemble import assemble, phases_of
from proveout.diagnosis import Model, compile_model
from proveout.diagnosis.predict import Variant
from proveout.instruments import default_meter
from proveout.network import solve_steady
from reference.fluid import FluidVehicle

BOOSTERS = ("vacuum-booster", "air-booster", "hydraulic-booster", "electric-vacuum")
CLOSE = {"vacuum": 300.0, "pressure": 6.0e4, "count": 0.51, "voltage": 0.01, "current": 0.05}
"""A third of what a gauge's class and a meter's accuracy leave open; a count is in whole numbers."""


@cache
def _model(name: str) -> Model:
    return compile_model(ready_circuit(name), default_meter())


def _readings(model: Model, variant: Variant | None, severity: int) -> dict[str, tuple[float, float]]:
    """Return each measurement's prediction and truth."""
    row = 0 if variant is None else variant.first + severity
    faults = [] if variant is None else [_fault(variant, severity)]
    vehicle = FluidVehicle(model.circuit, faults, {})
    return {
        name: (float(model.predictions.mean[row, model.column[name]]), vehicle.reading(name))
        for name in model.circuit.measurements
    }


def _fault(variant: Variant, severity: int) -> tuple[str, str, float | None]:
    fault = variant.faults[0]
    value = None if fault.mode.forced is not None else float(variant.severities[0][severity])
    return fault.part, fault.mode.name, value


def _check(model: Model, variant: Variant | None, severity: int) -> None:
    for name, (predicted, true) in _readings(model, variant, severity).items():
        close = CLOSE[model.function(name).kind]
        where = "sound" if variant is None else f"{variant.faults[0].reference} x {severity}"
        assert predicted == pytest.approx(true, abs=close, rel=0.002), (where, name)


def test_a_sound_vacuum_booster_reads_as_it_is_integrated() -> None:
    _check(_model("vacuum-booster"), None, 0)


@pytest.mark.slow
@pytest.mark.parametrize("name", BOOSTERS)
def test_every_booster_reads_as_it_is_integrated_sound_and_under_faults(name: str) -> None:
    """Each fault mode at a middle severity."""
    model = _model(name)
    _check(model, None, 0)
    for variant in model.predictions.variants:
        _check(model, variant, variant.count // 2)


@pytest.mark.slow
@pytest.mark.parametrize("name", BOOSTERS)
def test_what_is_seen_of_a_booster_follows_from_the_integrated_pressures(name: str) -> None:
    """The outcome that the truth gives is never one that the model holds for unlikely."""
    model = _model(name)
    for variant in model.predictions.variants:
        row = variant.first + variant.count // 2
        vehicle = FluidVehicle(model.circuit, [_fault(variant, variant.count // 2)], {})
        for behaviour, described in model.circuit.behaviours.items():
            outcome = list(described.outcomes).index(vehicle.behaviour(behaviour))
            assert model.behaviours[behaviour][row][outcome] > 0.3, (variant.faults[0].reference, behaviour)


def _supply(circuit: Circuit) -> float:
    """Return the vacuum at the booster hose at idle [Pa], by the network alone."""
    assembly = assemble(circuit)
    netlist = assembly.netlist
    (phase,) = phases_of(assembly, "idle")
    return -float(solve_steady(netlist, netlist.batch(phase.states, 1)).effort[netlist.node["hose_end"], 0])


def test_supply_vacuum_at_idle_is_what_the_trade_expects_and_falls_with_altitude() -> None:
    """Common practice: 15 to 26 inHg, near 20 at sea level, about one less for each thousand feet."""
    inch = 3386.389
    circuit = ready_circuit("vacuum-booster")
    sea, high = _supply(circuit), _supply(at_altitude(circuit, 1524.0))
    assert sea / inch == pytest.approx(20.0, abs=1.0)
    assert (sea - high) / inch == pytest.approx(5.0, abs=0.5)


def test_a_sound_booster_has_the_strokes_left_that_the_trade_and_the_rule_ask_for() -> None:
    """At least three assisted strokes after the engine stops (common practice).

    FMVSS 135, 49 CFR 571.135 S7.11 asks a stop with the power assist depleted within 168 m from 100 km/h at no more
    than 500 N: a deceleration of 2.3 m/s2, a third of what full assist gives here at 300 N.
    """
    model = _model("vacuum-booster")
    assert model.predictions.mean[0, model.column["strokes_left"]] >= 3.0
    alone = model.predictions.mean[0, model.column["line_alone"]] * 500.0 / 300.0
    needed = (100.0 / 3.6) ** 2 / (2.0 * 168.0)
    full_pressure_stop = 8.0  # m/s2 at 10 MPa of line pressure on a passenger car: from memory
    assert alone / 1.0e7 * full_pressure_stop >= needed
