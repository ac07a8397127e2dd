"""Predictions against Ohm's law by hand, and their slopes by tolerances against ngspice.

The predicted values themselves stand against ngspice in `test_predictions_against_ngspice`.
"""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis import divider
from diagnosis.ready import model
from proveout.circuits.assemble import assemble, tolerances
from proveout.circuits.schema import Part, Value
from proveout.diagnosis.faults import Fault, severity_grid
from proveout.diagnosis.observables import Observable
from proveout.diagnosis.predict import OhmsSource, Predictions, Variant, predict, single_fault_variants
from proveout.instruments import Function, default_meter
from proveout.network import ELEMENTS
from reference import Situation, reading

STILL = (np.zeros(1), np.zeros(1), np.zeros(1))


def column(name: str) -> int:
    return divider.model().column[name]


@pytest.mark.parametrize("place", ["feed", "at_unit", "at_harness", "at_pin"])
@pytest.mark.parametrize("fault", [*divider.MODES, ""])
def test_voltages_of_a_divider_are_those_by_hand(fault: str, place: str) -> None:
    # A 10 megohm meter loads the divider by some hundredths of a percent, a little more on an open wire.
    p = divider.model().predictions
    variant = next((v for v in p.variants if v.faults[0].reference == fault), None)
    rows = np.arange(1) if variant is None else np.arange(p.mean.shape[0])[variant.rows]
    severity = np.ones(1) if variant is None else variant.severities[0]
    still = tuple(np.zeros(len(rows)) for _ in range(3))
    expected = divider.vehicles(fault, severity, still).volts(place)  # type: ignore[arg-type]
    assert p.mean[rows, column(place)] == pytest.approx(expected, rel=0.011 if fault else 5e-4)


def test_slopes_of_a_divider_are_those_by_hand() -> None:
    # dV = V (1 - V/E) (dRs/Rs - dRp/Rp) + V dE/E, from V = E Rs / (Rp + Rs)
    p = divider.model().predictions
    latents = [name for name, *_ in tolerances(assemble(divider.model().circuit))]
    slopes = dict(zip(latents, p.slopes[0, column("at_pin")], strict=False))
    assert slopes["battery"] == pytest.approx(6.0 * 0.02, rel=1e-3)
    assert slopes["pull_up"] == pytest.approx(-3.0 * 0.03, rel=1e-3)
    assert slopes["sensor"] == pytest.approx(3.0 * 0.05, rel=1e-3)


def test_a_current_and_its_slopes_are_those_by_hand_with_the_shunt_in_series() -> None:
    # I = E / (Rp + Rs + 2 ohm shunt of the 60 mA range); dI/I = dE/E - dRp/(Rp + Rs) - dRs/(Rp + Rs)
    p, k = divider.model().predictions, column("current")
    current = 12.0 / (2000.0 + 2.0 + 0.01 + 0.001 + 0.069 + 0.005)
    assert p.mean[0, k] == pytest.approx(current, rel=1e-6)
    assert p.slopes[0, k, :3] == pytest.approx(current * np.array([0.02, -0.015, -0.025]), rel=2e-3)


def test_ohms_and_leads_of_an_unplugged_sensor_are_those_by_hand() -> None:
    p, k = divider.model().predictions, column("sensor_ohms")
    assert p.mean[0, k] == pytest.approx(1000.0, rel=1e-6)
    assert p.slopes[0, k, 2] == pytest.approx(50.0, rel=1e-3)
    assert p.slopes[0, k, 3] == default_meter().lead_uncertainty


def test_a_fault_that_sets_a_value_leaves_no_tolerance_of_it() -> None:
    # A shorted battery cell is known by its severity; 2 % of the file's voltage mean nothing any more.
    circuit = divider.model().circuit
    battery = circuit.parts["battery"].model_copy(update={"healthy": False, "repair": "wire"})
    flat = next(m for m in ELEMENTS["battery"].faults if m.name == "flat")
    assembly = assemble(circuit.model_copy(update={"parts": {**circuit.parts, "battery": battery}}))
    fault = Fault("battery", flat, "flat", "wire", 1.0)
    feed = Observable("running", "mean", "feed", "gnd")
    p = predict(assembly, single_fault_variants([fault], 8), [feed], OhmsSource(1.0, 1500.0))
    assert p.slopes[0, 0, 0] == pytest.approx(0.24, rel=1e-3)
    assert np.abs(p.slopes[1:, 0, 0]).max() == 0.0


def relay_circuit() -> Predictions:
    """A relay coil of 80 ohm with a tolerance of 10 % behind a battery of 12 V with one of 4 %."""
    circuit = divider.model().circuit
    coil = Part(
        kind="relay",
        nodes=["feed", "gnd", "feed", "gnd"],
        values={"coil_resistance": Value(value=80.0, tol=0.1), "contact_resistance": 1.0e6},
        healthy=True,
    )
    assembly = assemble(circuit.model_copy(update={"parts": {**circuit.parts, "coil": coil}}))
    return predict(assembly, (), [Observable("running", "current", part="coil")], OhmsSource(1.0, 1500.0))


def test_the_current_of_a_relay_is_that_of_its_coil_with_the_coils_tolerance() -> None:
    # The winding hangs on an inner node behind 1 milliohm: I = E / R, dI/I = dE/E and -dR/R.
    p = relay_circuit()
    assert p.mean[0, 0] == pytest.approx(12.0 / 80.0, rel=1e-3)
    names = [name for name, *_ in tolerances(assemble(divider.model().circuit))]
    slopes = dict(zip([*names, "coil"], p.slopes[0, 0], strict=False))
    assert slopes["battery"] == pytest.approx(0.15 * 0.02, rel=1e-3)
    assert slopes["coil"] == pytest.approx(-0.15 * 0.05, rel=1e-3)
    assert abs(slopes["sensor"]) < 1e-5


def test_two_faults_at_once_have_a_place_in_each_severity_cell() -> None:
    known = divider.model()
    wire, sensor = (next(f for f in known.faults if f.reference == r) for r in ("wire.resistive", "sensor.high"))
    grid = np.meshgrid(severity_grid(wire.mode, 6), severity_grid(sensor.mode, 6), indexing="ij")
    pair = Variant((wire, sensor), (grid[0].ravel(), grid[1].ravel()), 1)
    p = predict(
        assemble(known.circuit), [pair], [Observable("running", "mean", "sens", "gnd")], OhmsSource(1.0, 1500.0)
    )
    volts = p.mean[1:, 0].reshape(6, 6)
    places = p.slopes[1:, 0, -2:].reshape(6, 6, 2)
    assert places[2, 2, 0] == pytest.approx((volts[3, 2] - volts[1, 2]) / 2.0 / np.sqrt(12.0))
    assert places[2, 2, 1] == pytest.approx((volts[2, 3] - volts[2, 1]) / 2.0 / np.sqrt(12.0))
    assert (places[:, :, 0] < 0).all()
    assert (places[:, :, 1] > 0).all()


CASES = [
    ("crank-hall-5v", ""),
    ("crank-hall-5v", "sensor.stuck_on"),
    ("fuel-pump", ""),
    ("starter", ""),
    ("wheel-current", ""),
]


@pytest.mark.parametrize(("circuit", "fault"), CASES)
def test_slopes_by_tolerances_are_ngspices_differences(circuit: str, fault: str) -> None:
    # A tenth of a standard deviation up and down; 5 % of the reading's whole uncertainty may be left out.
    known, rng = model(circuit), np.random.default_rng(8)
    p, meter = known.predictions, known.meter
    variant = next((v for v in p.variants if v.faults[0].reference == fault), None)
    row = 0 if variant is None else variant.first
    faults = [] if variant is None else [(variant.faults[0].part, variant.faults[0].mode.name, None)]
    names = [str(n) for n in rng.choice(list(known.circuit.measurements), 5, replace=False)]
    for z, (part, parameter, spread, relative) in enumerate(tolerances(assemble(known.circuit))):
        given = known.circuit.parts[part].values[parameter]
        good = given.value if isinstance(given, Value) else 0.0
        drawn = [good * (1.0 + spread * s) if relative else spread * s for s in (0.1, -0.1)]
        for name in names:
            vehicles = [Situation(known.circuit, "", None, faults, {(part, parameter): value}) for value in drawn]
            high, low = (reading(vehicle, name, meter) for vehicle in vehicles)
            if not np.isfinite([high, low]).all():
                continue
            k, function = known.column[name], Function(known.circuit.measurements[name].function)
            whole = np.sqrt(
                np.sum(p.slopes[row, k] ** 2) + float(meter.standard_error(function, 0.5 * (high + low))) ** 2
            )
            assert abs(p.slopes[row, k, z] - 5.0 * (high - low)) < 0.05 * whole, (name, part, parameter)
