"""Vessels that empty and fill against closed forms, stores against scipy, and slopes carried through time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from network.small_networks import Part, element_of, values_of
from proveout.errors import InputError
from proveout.network import Leg, Moment, Netlist, PartState, Placed, Solution, run_timeline
from proveout.network.gas import AIR, choked
from proveout.network.laws import Array

SEA_LEVEL = 101325.0
T = 293.15
FULL = {"emf": 6.0e5 - SEA_LEVEL, "resistance": 1e-9}
VESSEL = 4e-3


def nothing(solution: Solution) -> Sequence[Mapping[int, Array]]:
    return [{}]


def blown_down(seconds: float, exponent: float, cooling: float) -> float:
    """Return the absolute pressure of a vessel of 4 l at 600 kPa that empties through 2 mm2 for a while."""
    parts: list[Part] = [
        ("vessel", "vessel", ("inside", "air"), {"volume": VESSEL, "exponent": exponent}),
        ("compressor", "battery@pneumatic", ("line", "air"), FULL),
        ("tap", "restriction", ("line", "inside"), {"area": 50.0}),
        ("hole", "restriction", ("inside", "air"), {"area": 2.0, "cooling": cooling}),
    ]
    netlist = Netlist([Placed(name, element_of(kind), nodes) for name, kind, nodes, _ in parts], "air")

    def leg(tap: bool, span: float) -> Leg:
        on = {"tap": tap, "hole": not tap}
        states = [PartState(values_of(kind, **v), on.get(name, True)) for name, kind, _, v in parts]
        return Leg(netlist.batch(states, 1), span, nothing)

    *_, last = run_timeline(netlist, leg(True, 0.0), [leg(False, seconds)])
    return float(last.solution.effort[netlist.node["inside"], 0]) + SEA_LEVEL


@pytest.mark.parametrize("seconds", [1.0, 3.0, 5.0])
def test_a_vessel_that_keeps_its_temperature_empties_as_an_exponential(seconds: float) -> None:
    """Choked isothermal blow-down, any gas-dynamics text: p = p0 exp(-k R T t / V)."""
    expected = 6.0e5 * np.exp(-float(choked(2.0, 20.0)) * AIR * T * seconds / VESSEL)
    assert blown_down(seconds, 1.0, 0.0) == pytest.approx(expected, rel=3e-3)


@pytest.mark.parametrize("seconds", [1.0, 3.0])
def test_a_vessel_without_heat_exchange_empties_as_the_closed_form_says(seconds: float) -> None:
    """Choked adiabatic blow-down: p = p0 (1 + (k - 1)/2 a R sqrt(T0) t / V)^(-2k/(k - 1)), gas-dynamics texts."""
    kappa = 1.4
    before = T * (6.0e5 / SEA_LEVEL) ** ((kappa - 1) / kappa)
    a = float(choked(2.0, 20.0)) * np.sqrt(T)
    growth = 1.0 + 0.5 * (kappa - 1) * a * AIR * np.sqrt(before) * seconds / VESSEL
    expected = 6.0e5 * growth ** (-2 * kappa / (kappa - 1))
    assert blown_down(seconds, kappa, 1.0) == pytest.approx(expected, rel=3e-3)


def accumulator(leak: Array, latents: int) -> tuple[Netlist, list[Moment]]:
    """Return an accumulator at 9 MPa that loses fluid through leaks (batch,) for 20 s."""
    count = len(leak)
    parts: list[Part] = [
        ("pump", "hydraulic_pump", ("store", "tank"), {}),
        ("store", "accumulator", ("store", "tank"), {}),
        ("seal", "liquid_seal", ("store", "tank"), {"leak_area": leak}),
    ]
    netlist = Netlist([Placed(name, element_of(kind), nodes) for name, kind, nodes, _ in parts], "tank")
    row = netlist.part_rows[netlist.part["seal"]][0][0]

    def changes(solution: Solution) -> Sequence[Mapping[int, Array]]:
        return [{row: solution.parameters[row]}] * latents

    def leg(running: bool, span: float) -> Leg:
        states = [PartState(values_of(kind, **v), running if name == "pump" else True) for name, kind, _, v in parts]
        return Leg(netlist.batch(states, count), span, changes)

    return netlist, list(run_timeline(netlist, leg(True, 0.0), [leg(False, 20.0)]))


def test_an_accumulator_runs_down_as_scipy_integrates_it() -> None:
    leak = np.array([0.002, 0.01])
    netlist, (start, end) = accumulator(leak, 1)
    node = netlist.node["store"]
    v = {name: float(np.asarray(value)) for name, value in values_of("accumulator").items()}

    def rate(_: float, p: Array, area: float) -> Array:
        full, charge = p + SEA_LEVEL, v["charge"] + SEA_LEVEL
        held = v["volume"] / v["exponent"] * (charge / full) ** (1 / v["exponent"]) / full
        capacity = v["elasticity"] + np.where(p > v["charge"], held, 0.0)
        return np.asarray(-area * 1e-6 * np.sqrt(2.0 * np.maximum(p, 0.0) / 870.0) / capacity)

    for k, area in enumerate(leak):
        before = [float(start.solution.effort[node, k])]
        truth = solve_ivp(rate, (0.0, 20.0), before, args=(area,), method="Radau", rtol=1e-9, atol=1.0).y[0, -1]
        assert float(end.solution.effort[node, k]) == pytest.approx(truth, rel=0.02)


def test_slopes_are_carried_through_time() -> None:
    """A leak that is larger by a ten-thousandth, against the slope by its logarithm."""
    step = 1e-4
    leak = np.array([0.004, 0.004 * (1 + step), 0.004 * (1 - step)])
    netlist, (_, end) = accumulator(leak, 2)
    found = end.solution.effort[netlist.node["store"]]
    numerical = (found[1] - found[2]) / (2 * step)
    assert float(end.moved[netlist.node["store"], 0, 0]) == pytest.approx(numerical, rel=1e-3)


def test_slopes_pass_through_a_part_that_another_domain_drives() -> None:
    """More vacuum is more line pressure: through the booster's piston, against a difference of whole solutions."""
    parts: list[Part] = [
        ("engine", "manifold", ("front", "air"), {"idle_pressure": 35e3 * np.array([1.0, 1.001, 0.999])}),
        ("output", "vacuum_booster_output", ("line", "air", "air", "front"), {"pedal_force": 400.0}),
    ]
    netlist = Netlist([Placed(name, element_of(kind), nodes) for name, kind, nodes, _ in parts], "air")
    states = [PartState(values_of(kind, **v)) for _, kind, _, v in parts]
    row = netlist.part_rows[0][0][1]

    def changes(solution: Solution) -> Sequence[Mapping[int, Array]]:
        # the source g (p - air): its slope by the logarithm of the absolute pressure
        return [{row: solution.parameters[netlist.part_rows[0][0][0]] * 35e3}]

    (moment,) = run_timeline(netlist, Leg(netlist.batch(states, 3), 0.0, changes), [])
    line = moment.solution.effort[netlist.node["line"]]
    assert line[2] > line[1]
    assert float(moment.moved[netlist.node["line"], 0, 0]) == pytest.approx((line[1] - line[2]) / 2e-3, rel=1e-3)


def test_a_leg_lasts_longer_than_nothing() -> None:
    netlist, _ = accumulator(np.array([0.01]), 1)
    states = [PartState(values_of(kind)) for kind in ("hydraulic_pump", "accumulator", "liquid_seal")]
    leg = Leg(netlist.batch(states, 1), 0.0, nothing)
    with pytest.raises(InputError, match="longer than nothing"):
        list(run_timeline(netlist, leg, [replace(leg, seconds=0.0)]))
