"""Transients against closed forms and an independent integrator."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from network.small_networks import IDEAL, Part, network, values_of
from proveout.errors import DivergedError, InputError, NetworkError, SingularError
from proveout.network import Netlist, PartState, solve_transient
from proveout.network.laws import Array


def source(emf: Array | float) -> Part:
    return ("source", "battery", ("plus", "gnd"), {"emf": emf, **IDEAL})


def resistor(name: str, first: str, second: str, ohms: Array | float) -> Part:
    return (name, "resistor", (first, second), {"resistance": ohms})


def times(dt: float, steps: int) -> Array:
    return np.arange(steps + 1, dtype=np.float64) * np.float64(dt)


def switched_on(
    parts: list[Part], emf: Array | float, dt: float, steps: int, count: int = 1, leakage: float = float("inf")
) -> tuple[Netlist, Array]:
    """Return the netlist and what follows when the source, the first part, rises from 0 V at t = 0."""
    netlist, before = network([source(0.0), *parts], leakage)
    after = [PartState({"emf": emf, **IDEAL}), *before[1:]]
    return netlist, solve_transient(netlist, before, after, count, dt, steps)


RC: list[Part] = [
    resistor("r", "plus", "x", 1000.0),
    ("c", "capacitor", ("x", "gnd"), {"capacitance": 1e-6, "leakage": 4000.0}),
]
RL: list[Part] = [
    resistor("r", "plus", "x", 100.0),
    ("l", "coil", ("x", "gnd"), {"resistance": 20.0, "inductance": 0.12}),
]


def rc_charge(t: Array) -> Array:
    """Closed form for 10 V: to 10 x 4000/5000 V with the time constant (1000 || 4000) x 1 uF."""
    return 8.0 * (1.0 - np.exp(-t / 800e-6))


def rl_voltage(t: Array) -> Array:
    """Closed form for 12 V, L/R = 1 ms: the current rises to 0.1 A, the rest of 12 V lies across 100 ohm."""
    return 12.0 - 100.0 * 0.1 * (1.0 - np.exp(-t / 1e-3))


def test_a_capacitor_charges_through_a_resistor_against_its_leakage() -> None:
    netlist, found = switched_on(RC, 10.0, 10e-6, 400)
    t = times(10e-6, 400)
    assert found.shape == (401, 3, 1)
    np.testing.assert_allclose(found[:, netlist.node["x"], 0], rc_charge(t), atol=1e-3)


def test_the_current_in_a_coil_rises_with_its_time_constant() -> None:
    netlist, found = switched_on(RL, 12.0, 10e-6, 500)
    t = times(10e-6, 500)
    np.testing.assert_allclose(found[1:, netlist.node["x"], 0], rl_voltage(t)[1:], atol=1e-3)


def test_the_induced_voltage_of_a_coil_drives_its_current() -> None:
    """Closed form: 2 V in 20 ohm + 100 ohm and 0.12 H from rest."""
    netlist, before = network([source(0.0), *RL])
    moving = PartState(values_of("coil", resistance=20.0, inductance=0.12, emf=2.0))
    found = solve_transient(netlist, before, [*before[:2], moving], 1, 10e-6, 300)
    t = times(10e-6, 300)[1:]
    expected = 2.0 * 100.0 / 120.0 * (1.0 - np.exp(-t / 1e-3))
    np.testing.assert_allclose(found[1:, netlist.node["x"], 0], expected, atol=1e-4)


@pytest.mark.parametrize(("parts", "emf", "exact"), [(RC, 10.0, rc_charge), (RL, 12.0, rl_voltage)], ids=["RC", "RL"])
def test_the_error_falls_with_the_square_of_the_step(
    parts: list[Part], emf: float, exact: Callable[[Array], Array]
) -> None:
    errors = []
    for steps in (50, 100, 200):
        dt = 4e-3 / steps
        netlist, found = switched_on(parts, emf, dt, steps)
        errors.append(np.abs(found[1:, netlist.node["x"], 0] - exact(times(dt, steps)[1:])).max())
    order = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    np.testing.assert_allclose(order, 2.0, atol=0.15)


def test_a_resonant_circuit_rings_as_an_independent_integrator_says() -> None:
    """R-L in series with C, equations written here and solved by SciPy's eighth-order Runge-Kutta."""
    r, inductance, c, emf = 10.0, 0.05, 2e-6, 5.0
    parts: list[Part] = [
        ("l", "coil", ("plus", "x"), {"resistance": r, "inductance": inductance}),
        ("c", "capacitor", ("x", "gnd"), {"capacitance": c, "leakage": 1e7}),
    ]
    dt, steps = 5e-6, 1000
    netlist, found = switched_on(parts, emf, dt, steps)

    def rates(_: float, y: Array) -> list[float]:
        current, voltage = y
        return [(emf - voltage - r * current) / inductance, (current - voltage / 1e7) / c]

    t = times(dt, steps)
    true = solve_ivp(rates, (0.0, t[-1]), [0.0, 0.0], method="DOP853", t_eval=t, rtol=1e-10, atol=1e-12)
    assert true.y[1].max() > 1.8 * emf
    np.testing.assert_allclose(found[:, netlist.node["x"], 0], true.y[1], atol=2e-3)


def test_a_rectifier_with_its_capacitor_follows_an_independent_integrator() -> None:
    """A diode charges a capacitor that a resistor empties: one stiff equation, solved by SciPy's Radau."""
    s, w, series, load, c, emf = 2e-9, 0.045, 50.0, 2000.0, 10e-6, 6.0
    parts: list[Part] = [
        resistor("series", "plus", "a", series),
        ("d", "diode", ("a", "k"), {"bypass": float("inf")}),
        ("c", "capacitor", ("k", "gnd"), {"capacitance": c, "leakage": load}),
    ]
    dt, steps = 2e-5, 300
    netlist, found = switched_on(parts, emf, dt, steps, leakage=1e12)

    def diode_current(v: float) -> float:
        i = 0.0
        for _ in range(200):
            i = max(i - (w * np.log1p(i / s) + series * i - (emf - v)) / (w / (s + i) + series), 0.0)
        return float(i)

    t = times(dt, steps)
    true = solve_ivp(
        lambda _, y: [(diode_current(y[0]) - y[0] / load) / c], (0.0, t[-1]), [0.0], "Radau", t, rtol=1e-8, atol=1e-9
    )
    np.testing.assert_allclose(found[:, netlist.node["k"], 0], true.y[0], atol=5e-3)


def test_a_relay_closes_when_its_slowed_coil_has_reached_pull_in() -> None:
    """Closed form: 85.001 ohm of coil with 1 mF across it behind 100 ohm, from 20 V, reach the pull-in of 7.5 V."""
    parts: list[Part] = [
        resistor("series", "plus", "coil", 100.0),
        ("slow", "capacitor", ("coil", "gnd"), {"capacitance": 1e-3}),
        ("relay", "relay", ("coil", "gnd", "plus", "load"), {}),
        resistor("load", "load", "gnd", 1000.0),
    ]
    dt = 5e-4
    netlist, found = switched_on(parts, 20.0, dt, 300)
    final = 20.0 * 85.001 / 185.001
    moment = -np.log(1.0 - 7.5 / final) * 1e-3 * 100.0 * 85.001 / 185.001
    closed = found[:, netlist.node["load"], 0] > 1.0
    assert dt * int(closed.argmax()) == pytest.approx(moment, abs=2 * dt)
    assert closed[closed.argmax() :].all()


def test_a_stiff_decay_dies_at_once_and_does_not_ring() -> None:
    """A time constant of a thousandth of the step: the trapezoidal rule alone would swing around the end value."""
    parts: list[Part] = [
        resistor("r", "plus", "x", 10.0),
        ("c", "capacitor", ("x", "gnd"), {"capacitance": 1e-9, "leakage": 1e9}),
    ]
    netlist, found = switched_on(parts, 5.0, 1e-5, 6)
    miss = np.abs(found[1:, netlist.node["x"], 0] / 5.0 - 1.0)
    assert miss[0] < 1e-3
    assert miss[1] < 1e-5
    assert np.all(miss[2:] < 2e-8)


def test_nothing_moves_where_nothing_is_switched() -> None:
    netlist, states = network(
        [source(12.0), *RC, ("l", "coil", ("x", "gnd"), {"resistance": 200.0, "inductance": 0.1})]
    )
    found = solve_transient(netlist, states, states, 1, 1e-4, 20)
    np.testing.assert_allclose(found, np.broadcast_to(found[:1], found.shape), rtol=1e-9)


def test_the_current_of_a_coil_goes_on_after_its_supply_is_cut() -> None:
    """By hand: 0.1 A in the coil forces 0.1 A through the 330 ohm across it, upwards from ground: -33 V at first."""
    parts: list[Part] = [
        source(12.0),
        ("switch", "switch", ("plus", "x"), {}),
        ("l", "coil", ("x", "gnd"), {"resistance": 119.99, "inductance": 0.5}),
        resistor("across", "x", "gnd", 330.0),
    ]
    netlist, before = network(parts)
    after = [before[0], PartState(values_of("switch"), on=False), *before[2:]]
    dt = 1e-6
    x = solve_transient(netlist, before, after, 1, dt, 200)[:, netlist.node["x"], 0]
    assert x[0] == pytest.approx(12.0, rel=1e-3)
    t = times(dt, 200)[1:]
    np.testing.assert_allclose(x[1:], -33.0 * np.exp(-t * 449.99 / 0.5), rtol=1e-4)


def test_a_coil_broken_at_the_switching_instant_carries_nothing_from_then_on() -> None:
    netlist, before = network([source(12.0), *RL])
    broken = PartState(values_of("coil", resistance=float("inf"), inductance=0.12))
    found = solve_transient(netlist, before, [*before[:2], broken], 1, 1e-4, 5)
    np.testing.assert_allclose(found[1:, netlist.node["x"], 0], 12.0)


def test_a_batch_is_the_same_as_its_variants_one_by_one() -> None:
    amounts, ohms = np.array([1e-7, 1e-6, 5e-6]), np.array([500.0, 1000.0, 3000.0])

    def parts(c: Array | float, r: Array | float) -> list[Part]:
        return [resistor("r", "plus", "x", r), ("c", "capacitor", ("x", "gnd"), {"capacitance": c})]

    _, together = switched_on(parts(amounts, ohms), 10.0, 1e-4, 30, count=3)
    for k in range(3):
        _, alone = switched_on(parts(float(amounts[k]), float(ohms[k])), 10.0, 1e-4, 30)
        np.testing.assert_allclose(together[:, :, k], alone[:, :, 0], rtol=1e-9, atol=1e-12)


def test_an_absent_capacitor_stores_nothing() -> None:
    netlist, before = network([source(0.0), *RC, resistor("load", "x", "gnd", 1000.0)])
    before[2] = PartState(before[2].values, present=False)
    after = [PartState({"emf": 10.0, **IDEAL}), *before[1:]]
    found = solve_transient(netlist, before, after, 1, 1e-6, 3)
    np.testing.assert_allclose(found[1:, netlist.node["x"], 0], 5.0)


@pytest.mark.parametrize(("dt", "steps"), [(0.0, 10), (-1e-3, 10), (float("nan"), 10), (1e-3, 0)])
def test_a_time_step_or_a_number_of_steps_of_nothing_is_refused(dt: float, steps: int) -> None:
    with pytest.raises(InputError, match=r"a transient of \d+ steps of .* s cannot be computed; both must be above 0"):
        switched_on(RC, 1.0, dt, steps)


@pytest.mark.parametrize("amount", [-1e-6, float("inf"), float("nan")])
def test_a_capacitance_that_is_none_names_its_element(amount: float) -> None:
    parts: list[Part] = [resistor("r", "plus", "x", 1e3), ("c", "capacitor", ("x", "gnd"), {"leakage": 1e6})]
    netlist, states = network([source(1.0), *parts])
    states[2] = PartState({"capacitance": amount, "leakage": 1e6})
    message = r"element 'c' \(capacitor\) has .*capacitance.*finite"
    with pytest.raises(NetworkError, match=message):
        solve_transient(netlist, states, states, 1, 1e-3, 3)


def test_a_node_that_nothing_holds_after_the_switching_is_named() -> None:
    netlist, before = network([source(1.0), ("switch", "switch", ("plus", "x"), {})])
    after = [before[0], PartState(values_of("switch"), on=False)]
    with pytest.raises(SingularError, match="node 'x' is held by nothing"):
        solve_transient(netlist, before, after, 1, 1e-3, 3)


def test_steps_that_do_not_settle_name_the_node(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("proveout.network.newton.MOST_STEPS", 1)
    monkeypatch.setattr("proveout.network.descent.MOST_STEPS", 1)
    parts: list[Part] = [resistor("r", "plus", "x", 100.0), ("d", "diode", ("x", "gnd"), {})]
    with pytest.raises(DivergedError, match="does not settle at node 'x'"):
        switched_on(parts, 5.0, 1e-3, 3)
