"""The vehicle with the hidden fault shows what such a vehicle would show, and keeps its secret."""

from __future__ import annotations

import math

import numpy as np
import pytest

from practice.compiled import model
from proveout.instruments import Function, default_meter
from proveout.practice import Task
from proveout.practice.difficulty import rank
from proveout.practice.draw import draw_vehicle
from proveout.practice.hidden import HiddenVehicle, Standing
from reference import Situation, reading

AS_IT_CAME = Standing()
MENDED = Standing(mended=True)
MEGOHM = 1e6


def _vehicle(circuit: str, difficulty: str = "easy", seed: int = 1) -> HiddenVehicle:
    return draw_vehicle(model(circuit), Task(circuit, difficulty, seed))  # type: ignore[arg-type]


def _coming(circuit: str) -> HiddenVehicle:
    m = model(circuit)
    ranking = rank(m)
    drawn = (draw_vehicle(m, Task(circuit, "hard", seed), ranking) for seed in range(200))
    return next(vehicle for vehicle in drawn if vehicle.comes_and_goes)


def _error_limit(name: str, true: float, vehicle: HiddenVehicle) -> float:
    """Return by how much a reading may differ: the meter's accuracy limits and half a step of its display."""
    function = Function(vehicle.model.circuit.measurements[name].function)
    resolution, fraction, counts, _ = default_meter().capability(function).select(true)
    return float(abs(true) * fraction + counts * resolution + 0.5 * resolution)


@pytest.mark.parametrize(
    ("circuit", "seed"), [("crank-hall-5v", 1), ("crank-hall-5v", 7), ("coolant-ntc", 2), ("wheel-vr", 3)]
)
@pytest.mark.parametrize("mended", [False, True])
def test_every_reading_is_ngspices_within_the_meters_accuracy(circuit: str, seed: int, mended: bool) -> None:
    """Truth is ngspice, given this vehicle's own values and its fault."""
    vehicle = _vehicle(circuit, "medium", seed)
    fault, own = vehicle.fault, vehicle.individual.circuit
    value = None if fault.mode.forced is not None else vehicle.severity
    faults = [] if mended else [(fault.part, fault.mode.name, value)]
    situation = Situation(own, next(iter(own.setups)), None, faults)
    compared = 0
    for name in own.measurements:
        shown = vehicle.measure(name, 0, MENDED if mended else AS_IT_CAME)
        if not shown.taken:
            continue
        true = reading(situation, name, default_meter(), vehicle.individual.lead_offset)
        if own.measurements[name].function == "ohms" and true > MEGOHM:
            # Through leakage and clamping diodes, where a reading hangs on the test current of the range.
            assert shown.over_limit or float(shown.value or 0.0) > MEGOHM, name
            continue
        if shown.value is None or not math.isfinite(true):
            top = default_meter().span(vehicle.model.function(name))[1]
            assert shown.over_limit, name
            assert abs(true) > 0.97 * top, name
            continue
        # A thousandth for what the two simulators differ in.
        assert abs(shown.value - true) <= _error_limit(name, true, vehicle) + 1e-3 * abs(true) + 2e-5, name
        compared += 1
    assert compared > 0.6 * len(own.measurements)


def test_one_seed_is_one_vehicle_and_another_seed_another() -> None:
    one, same, other = (_vehicle("crank-hall-5v", "medium", seed) for seed in (5, 5, 6))
    names = list(one.model.circuit.measurements)
    shown = [[vehicle.measure(name, 0, AS_IT_CAME).shown for name in names] for vehicle in (one, same, other)]
    assert (one.hypothesis, one.severity) == (same.hypothesis, same.severity)
    assert shown[0] == shown[1] != shown[2]


def test_what_a_reading_shows_does_not_hang_on_what_was_asked_before() -> None:
    vehicle = _vehicle("crank-hall-5v")
    names = list(vehicle.model.circuit.measurements)
    forward = {name: vehicle.measure(name, 0, AS_IT_CAME).shown for name in names}
    assert {name: vehicle.measure(name, 0, AS_IT_CAME).shown for name in reversed(names)} == forward


def test_a_reading_taken_again_differs_by_no_more_than_the_meter_allows() -> None:
    vehicle = _vehicle("crank-hall-5v", "easy", 3)
    name = "battery_voltage" if "battery_voltage" in vehicle.model.circuit.measurements else ""
    name = name or next(iter(vehicle.model.circuit.measurements))
    values = [float(vehicle.measure(name, k, AS_IT_CAME).value or 0.0) for k in range(40)]
    assert len(set(values)) > 1
    assert np.ptp(values) <= 2.0 * _error_limit(name, float(np.mean(values)), vehicle) + 1e-9


def test_a_mended_vehicle_does_what_a_sound_one_does() -> None:
    for seed in range(6):
        vehicle = _vehicle("fuel-pump", "hard", seed)
        proof = vehicle.model.circuit.behaviours[vehicle.model.circuit.proof]
        assert proof.outcomes[vehicle.prove(0, MENDED)].good
        assert vehicle.complaints()
        assert vehicle.sound_once_mended()


def test_a_steady_fault_never_passes_its_proof() -> None:
    vehicle = _vehicle("starter")
    proof = vehicle.model.circuit.behaviours[vehicle.model.circuit.proof]
    assert not any(proof.outcomes[vehicle.prove(k, AS_IT_CAME)].good for k in range(20))


def test_an_intermittent_shows_itself_in_three_of_ten_readings_and_in_seven_while_it_is_wiggled() -> None:
    # The two chances are those of the hypotheses (common practice); 400 tosses, four standard deviations.
    vehicle = _coming("crank-hall-5v")
    proof = vehicle.model.circuit.proof
    good = {n for n, o in vehicle.model.circuit.behaviours[proof].outcomes.items() if o.good}
    for disturbed, chance in ((False, 0.3), (True, 0.7)):
        seen = [vehicle.watch(proof, k, AS_IT_CAME, disturbed=disturbed) not in good for k in range(400)]
        slip = vehicle.model.circuit.behaviours[proof].slip
        assert np.mean(seen) == pytest.approx(chance, abs=4 * math.sqrt(chance * (1 - chance) / 400) + slip)


def test_ohms_on_a_live_place_are_not_read() -> None:
    found = 0
    for circuit in ("fuel-pump", "coolant-ntc", "wheel-vr"):
        vehicle = _vehicle(circuit, "hard", 2)
        for name in vehicle.model.circuit.measurements:
            if vehicle.model.function(name).drives:
                found += 1
                open_volts = vehicle._value(1, vehicle._open_voltage(name))
                shown = vehicle.measure(name, 0, AS_IT_CAME)
                if not vehicle.comes_and_goes:
                    assert shown.taken == (abs(open_volts) <= 0.05), name
    assert found > 5


def test_a_vehicle_does_not_tell_its_fault_when_it_is_printed() -> None:
    vehicle = _vehicle("crank-hall-5v")
    assert vehicle.fault.part not in repr(vehicle)
    assert str(vehicle) == "HiddenVehicle(crank-hall-5v)"
