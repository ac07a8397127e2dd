"""Steady states against circuits worked by hand, closed forms and an independent root finder."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import lambertw

from network.small_networks import IDEAL, PIN, Part, network, solved, values_of, varied, voltages
from proveout.errors import DivergedError, NetworkError, SingularError
from proveout.network import PartState, flow_through, solve_steady
from proveout.network.laws.lamp import POWER


def battery(emf: float, **values: float) -> Part:
    return ("battery", "battery", ("plus", "gnd"), {"emf": emf, **IDEAL, **values})


def resistor(name: str, first: str, second: str, ohms: float) -> Part:
    return (name, "resistor", (first, second), {"resistance": ohms})


def test_a_divider_behind_a_battery_s_internal_resistance() -> None:
    """By hand: 12.6 V x 300 / (0.5 + 100 + 300) = 9.4382 V."""
    found = voltages(
        [battery(12.6, resistance=0.5), resistor("a", "plus", "tap", 100.0), resistor("b", "tap", "gnd", 300.0)]
    )
    assert found["tap"] == pytest.approx(12.6 * 300.0 / 400.5, rel=1e-12)
    assert found["gnd"] == 0.0


@pytest.mark.parametrize("fourth", [200.0, 210.0, 50.0])
def test_a_wheatstone_bridge(fourth: float) -> None:
    """By hand: E (R2/(R1+R2) - R4/(R3+R4)) behind R1||R2 + R3||R4 drives the galvanometer."""
    parts = [
        battery(10.0),
        resistor("r1", "plus", "left", 100.0),
        resistor("r2", "left", "gnd", 200.0),
        resistor("r3", "plus", "right", 100.0),
        resistor("r4", "right", "gnd", fourth),
        resistor("galvanometer", "left", "right", 50.0),
    ]
    netlist, solution = solved(parts)
    open_circuit = 10.0 * (200.0 / 300.0 - fourth / (100.0 + fourth))
    inner = 100.0 * 200.0 / 300.0 + 100.0 * fourth / (100.0 + fourth)
    current = flow_through(netlist, solution, netlist.part["galvanometer"])
    assert current[0] == pytest.approx(open_circuit / (inner + 50.0), rel=1e-9, abs=1e-13)


def test_a_meter_of_20_kilohm_per_volt_loads_a_divider_of_100_kilohm() -> None:
    """By hand: on its 10 V range it is 200 kilohm; 10 V x (100k || 200k) / (100k + 100k || 200k) = 4.0 V, not 5 V."""
    parts: list[Part] = [battery(10.0), resistor("a", "plus", "tap", 1e5), resistor("b", "tap", "gnd", 1e5)]
    meter: Part = ("meter", "meter_load", ("tap", "gnd"), {"resistance": 2e5})
    assert voltages(parts)["tap"] == pytest.approx(5.0, rel=1e-12)
    assert voltages([*parts, meter])["tap"] == pytest.approx(4.0, rel=1e-12)


def test_a_floating_wire_shows_its_ghost_voltage_to_a_10_megohm_meter() -> None:
    """By hand: 50 megohm of damp insulation from 12 V, the meter and 1 gigohm of leakage: 12 x 20/(20 + 100 + 1) V."""
    parts: list[Part] = [
        battery(12.0),
        ("damp", "bridge", ("plus", "loose"), {"resistance": 50e6}),
        ("meter", "meter_load", ("loose", "gnd"), {}),
    ]
    assert voltages(parts, leakage=1e9)["loose"] == pytest.approx(12.0 * 20.0 / 121.0, rel=1e-12)


def test_a_wire_that_nothing_touches_but_the_leakage_lies_at_ground() -> None:
    parts: list[Part] = [battery(12.0), ("cut", "wire", ("loose", "end"), {})]
    assert voltages(parts, leakage=1e9)["loose"] == 0.0


def test_a_diode_behind_a_resistor_has_lambert_s_current() -> None:
    """Closed form: i = (w/r) W(s r / w exp((e + s r)/w)) - s, with the Lambert function of SciPy."""
    e, r, s, w = 5.0, 1000.0, 2e-9, 0.045
    parts: list[Part] = [
        battery(e),
        resistor("r", "plus", "anode", r),
        ("diode", "diode", ("anode", "gnd"), {"saturation": s, "width": w, "bypass": float("inf")}),
    ]
    netlist, solution = solved(parts)
    current = float(flow_through(netlist, solution, netlist.part["r"])[0])
    assert current == pytest.approx(w / r * float(lambertw(s * r / w * np.exp((e + s * r) / w)).real) - s, rel=1e-10)


def test_a_protection_diode_breaks_down_at_its_rating() -> None:
    parts: list[Part] = [
        battery(60.0),
        resistor("r", "plus", "cathode", 1000.0),
        ("diode", "diode", ("gnd", "cathode"), {"breakdown": 40.0, "saturation": 1e-9}),
    ]
    assert 40.0 < voltages(parts)["cathode"] < 41.0


@pytest.mark.parametrize(
    ("kind", "nodes", "flow"),
    [
        (
            "lamp",
            ("x", "gnd"),
            lambda u: u * 10 / 28.8 * (1 + (u / (12 / np.sqrt(10 ** (1 / POWER) - 1))) ** 2) ** -POWER,
        ),
        ("current_sink", ("x", "gnd"), lambda u: 0.014 * -np.expm1(-u / 0.8)),
    ],
)
@pytest.mark.parametrize("ohms", [10.0, 200.0, 5000.0])
def test_a_nonlinear_load_behind_a_resistor(
    kind: str, nodes: tuple[str, ...], flow: Callable[[float], float], ohms: float
) -> None:
    """Against SciPy's bracketing root finder on an equation written here."""
    found = voltages([battery(12.0), resistor("r", "plus", "x", ohms), ("load", kind, nodes, {})])["x"]
    assert found == pytest.approx(brentq(lambda u: flow(u) - (12.0 - u) / ohms, 0.0, 12.0, xtol=1e-13), rel=1e-9)


@pytest.mark.parametrize("ohms", [1.0, 30.0, 52.0, 1000.0])
def test_a_regulated_supply_holds_its_voltage_until_its_limit(ohms: float) -> None:
    """Against SciPy's bracketing root finder: 5 V behind 0.5 ohm, softly limited to 0.1 A, 20 kilohm across it."""
    parts: list[Part] = [
        battery(12.0),
        ("supply", "regulator", ("out", "gnd", "plus"), {}),
        resistor("load", "out", "gnd", ohms),
    ]

    def residual(v: float) -> float:
        return v / ohms + v / 2e4 - 0.1 * float(np.tanh((5.0 - v) / 0.5 / 0.1))

    found = voltages(parts)["out"]
    assert found == pytest.approx(brentq(residual, 0.0, 5.0, xtol=1e-14), rel=1e-9)
    assert found > 4.9 if ohms >= 1000.0 else found < 5.0


def test_a_regulated_supply_shuts_down_with_its_feed() -> None:
    parts: list[Part] = [battery(5.9), ("supply", "regulator", ("out", "gnd", "plus"), {})]
    assert voltages(parts)["out"] == 0.0


@pytest.mark.parametrize(("emf", "closed"), [(7.6, True), (7.4, False)])
def test_a_relay_closes_above_its_pull_in_voltage_and_drops_below(emf: float, closed: bool) -> None:
    parts: list[Part] = [
        battery(emf),
        ("relay", "relay", ("plus", "gnd", "plus", "load"), {}),
        resistor("load", "load", "gnd", 10.0),
    ]
    netlist, solution = solved(parts)
    assert bool(solution.on[0, 0]) is closed
    expected = emf * 10.0 / 10.01 if closed else 0.0
    assert solution.effort[netlist.node["load"], 0] == pytest.approx(expected, rel=1e-9)


def test_a_relay_without_its_winding_never_closes_and_a_welded_one_never_opens() -> None:
    parts: list[Part] = [
        battery(12.0),
        ("relay", "relay", ("plus", "gnd", "plus", "load"), {}),
        resistor("load", "load", "gnd", 10.0),
    ]
    netlist, states = network(parts)
    batch = netlist.batch(states, 3)
    relay = netlist.part["relay"]
    netlist.vary(batch, relay, slice(1, 2), PartState(values_of("relay", lead=float("inf"))))
    netlist.vary(batch, relay, slice(2, 3), PartState(values_of("relay", lead=float("inf")), forced=True))
    found = solve_steady(netlist, batch).effort[netlist.node["load"]]
    assert found[1] == 0.0
    np.testing.assert_allclose(found[[0, 2]], 12.0 * 10.0 / 10.01, rtol=1e-9)


@pytest.mark.parametrize("buzzers", [1, 2])
def test_gates_that_chatter_end_off(buzzers: int) -> None:
    """A relay whose contact takes the supply from its own coil: neither open nor closed is steady."""
    parts: list[Part] = [battery(12.0)]
    for k in range(buzzers):
        parts.append(resistor(f"series{k}", "plus", f"coil{k}", 10.0))
        parts.append((f"buzzer{k}", "relay", (f"coil{k}", "gnd", f"coil{k}", "gnd"), {}))
    netlist, solution = solved(parts)
    assert not solution.on.any()
    assert solution.effort[netlist.node["coil0"], 0] == pytest.approx(12.0 * 85.001 / 95.001, rel=1e-9)


def test_a_chain_of_gates_settles_however_long_it_is() -> None:
    """Each relay feeds the next one's coil; the first is not pulled in, so none is."""
    count = 12
    parts: list[Part] = [battery(12.0), resistor("weak", "plus", "c0", 200.0)]
    parts += [(f"k{n}", "relay", (f"c{n}", "gnd", "plus", f"c{n + 1}"), {}) for n in range(count)]
    netlist, solution = solved(parts, leakage=1e9)
    assert not solution.on.any()
    assert abs(solution.effort[netlist.node[f"c{count}"], 0]) < 1e-6


def test_a_batch_is_the_same_as_its_variants_one_by_one() -> None:
    netlist, batch = varied(PIN, 60, seed=1)
    together = solve_steady(netlist, batch)
    for k in range(60):
        alone = solve_steady(netlist, batch.take(np.array([k])))
        np.testing.assert_allclose(together.effort[:, k], alone.effort[:, 0], rtol=1e-7, atol=1e-7)
        np.testing.assert_array_equal(together.on[:, k], alone.on[:, 0])


def test_a_batch_longer_than_one_chunk_repeats_its_variants() -> None:
    netlist, states = network(PIN, leakage=1e9)
    short = netlist.batch(states, 3)
    netlist.vary(
        short,
        netlist.part["pin"],
        slice(0, 3),
        PartState(values_of("control_input", pull_up=np.array([1e3, 2e3, 5e3]))),
    )
    long = short.take(np.arange(9001) % 3)
    found, pattern = solve_steady(netlist, long).effort, solve_steady(netlist, short).effort
    np.testing.assert_allclose(found, pattern[:, np.arange(9001) % 3], rtol=1e-7, atol=1e-7)


def test_a_batch_longer_than_one_chunk_in_which_only_a_source_varies() -> None:
    """By hand: half of each electromotive force."""
    netlist, states = network([battery(1.0), resistor("a", "plus", "tap", 5.0), resistor("b", "tap", "gnd", 5.0)])
    emf = np.linspace(1.0, 20.0, 10001)
    states[0] = PartState({"emf": emf, **IDEAL})
    found = solve_steady(netlist, netlist.batch(states, 10001)).effort[netlist.node["tap"]]
    np.testing.assert_allclose(found, 0.5 * emf, rtol=1e-9)


def test_rows_that_do_not_vary_are_solved_as_those_that_do() -> None:
    """The same variant in a batch where one part varies and in one where all do."""
    netlist, states = network(PIN, leakage=1e9)
    some, every = netlist.batch(states, 8), netlist.batch(states, 8)
    wire = netlist.part["wire"]
    varied = PartState(values_of("wire", extra=np.geomspace(1.0, 1e6, 8)))
    for batch in (some, every):
        netlist.vary(batch, wire, slice(0, 8), varied)
    every.on[:, 7] *= 1.0 + 1e-3
    every.off[:, 7] *= 1.0 + 1e-3
    found = [solve_steady(netlist, batch).effort[:, :7] for batch in (some, every)]
    np.testing.assert_allclose(found[0], found[1], rtol=1e-8, atol=1e-8)


def test_the_solution_does_not_depend_on_the_start() -> None:
    netlist, states = network(PIN, leakage=1e9)
    batch = netlist.batch(states, 4)
    cold = solve_steady(netlist, batch).effort
    rng = np.random.default_rng(3)
    for scale in (1.0, 100.0, 1e4):
        far = solve_steady(netlist, batch, rng.normal(scale=scale, size=cold.shape)).effort
        np.testing.assert_allclose(far, cold, rtol=1e-7, atol=1e-7)
    np.testing.assert_allclose(solve_steady(netlist, batch, cold[:, :1]).effort, cold, rtol=1e-9, atol=1e-9)


def test_solving_leaves_the_batch_as_it_was() -> None:
    """Also where a gate that was thought on turns out off."""
    netlist, states = network([battery(7.4), ("relay", "relay", ("plus", "gnd", "plus", "load"), {})], leakage=1e9)
    batch = netlist.batch(states, 3)
    before = [a.copy() for a in (batch.on, batch.off, batch.enabled, batch.threshold)]
    assert not solve_steady(netlist, batch).on.any()
    for now, then in zip((batch.on, batch.off, batch.enabled, batch.threshold), before, strict=True):
        np.testing.assert_array_equal(now, then)


def test_an_infinite_branch_parameter_is_named_too() -> None:
    netlist, states = network([battery(12.0), resistor("load", "plus", "gnd", 10.0)])
    batch = netlist.batch(states, 2)
    batch.on[netlist.part_rows[1][0][0], 1] = np.inf
    with pytest.raises(NetworkError, match=r"parameter g of the linear branch a to b of 'load' .* is inf in variant 1"):
        solve_steady(netlist, batch)


def test_efforts_beyond_all_numbers_name_their_node() -> None:
    parts: list[Part] = [("meter", "meter_load", ("loose", "gnd"), {})]
    netlist, states = network([battery(12.0), *parts])
    batch = netlist.batch(states, 1)
    batch.on[netlist.part_rows[1][0][1]] = 1e308
    batch.on[netlist.part_rows[1][0][0]] = 1e-3
    with pytest.raises(DivergedError, match="the effort at node 'loose' grows beyond all numbers"):
        solve_steady(netlist, batch)


def test_all_currents_into_each_node_add_up_to_nothing() -> None:
    netlist, solution = solved(PIN, leakage=1e9)
    total = solution.effort[:-1, 0] / 1e9
    for part, placed in enumerate(netlist.parts):
        for branch in range(len(placed.element.branches)):
            flow = flow_through(netlist, solution, part, branch)[0]
            for node, sign in zip(netlist.branch_nodes(part, branch), (1.0, -1.0), strict=True):
                if node < netlist.size:
                    total[node] += sign * flow
    np.testing.assert_allclose(total, 0.0, atol=1e-9)


def test_an_absent_part_leaves_no_trace() -> None:
    parts: list[Part] = [battery(10.0), resistor("a", "plus", "tap", 1e5), resistor("b", "tap", "gnd", 1e5)]
    netlist, states = network([*parts, ("meter", "meter_load", ("tap", "gnd"), {"resistance": 2e5})])
    states[-1] = PartState(states[-1].values, present=False)
    assert solve_steady(netlist, netlist.batch(states, 1)).effort[netlist.node["tap"], 0] == pytest.approx(5.0)


def test_a_node_that_nothing_holds_is_named() -> None:
    with pytest.raises(SingularError, match=r"node '(loose|end)' is held by nothing"):
        voltages([battery(12.0), ("cut", "wire", ("loose", "end"), {})])


def test_a_node_held_by_nothing_in_one_variant_only_is_named() -> None:
    netlist, states = network([battery(12.0), ("switch", "switch", ("plus", "out"), {})])
    batch = netlist.batch(states, 2)
    netlist.vary(batch, 1, slice(1, 2), PartState(values_of("switch"), on=False))
    with pytest.raises(SingularError, match="node 'out' is held by nothing"):
        solve_steady(netlist, batch)


def test_a_value_that_is_no_number_names_its_element_and_parameter() -> None:
    netlist, states = network([battery(12.0), resistor("load", "plus", "gnd", 10.0)])
    states[1] = PartState({"resistance": np.array([10.0, np.nan])})
    with pytest.raises(NetworkError, match=r"element 'load' \(resistor\).*resistance = nan.*must be a number"):
        netlist.batch(states, 2)


def test_a_resistance_of_zero_names_its_element_and_parameter() -> None:
    netlist, states = network([battery(12.0), resistor("load", "plus", "gnd", 10.0)])
    states[1] = PartState({"resistance": 0.0})
    with pytest.raises(NetworkError, match=r"'load' \(resistor\).*resistance = 0.0.*needs a resistance above 0"):
        netlist.batch(states, 1)


def test_an_infinite_electromotive_force_names_its_element_and_parameter() -> None:
    netlist, states = network([battery(float("inf")), resistor("load", "plus", "gnd", 10.0)])
    with pytest.raises(NetworkError, match=r"'battery' \(battery\).*emf = inf"):
        netlist.batch(states, 1)


def test_a_branch_parameter_that_is_no_number_is_named_by_the_solver() -> None:
    netlist, states = network(PIN, leakage=1e9)
    batch = netlist.batch(states, 5)
    batch.on[netlist.part_rows[netlist.part["lamp"]][0][1], 3] = np.nan
    with pytest.raises(
        NetworkError, match=r"parameter k of the lamp branch a to b of 'lamp' \(lamp\) is nan in variant 3"
    ):
        solve_steady(netlist, batch)


def test_a_solution_that_does_not_settle_names_node_and_elements(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("proveout.network.newton.MOST_STEPS", 1)
    monkeypatch.setattr("proveout.network.descent.MOST_STEPS", 1)
    with pytest.raises(DivergedError, match=r"does not settle at node 'x' after 1 steps; the elements at it: diode"):
        voltages([battery(12.0), resistor("r", "plus", "x", 100.0), ("diode", "diode", ("x", "gnd"), {})])
