"""Inner resistances by hand, and every sensitivity against central differences of full solutions."""

from __future__ import annotations

import numpy as np
import pytest

from network.small_networks import IDEAL, PIN, Part, network, solved, values_of, varied
from proveout.network import (
    ELEMENTS,
    Netlist,
    PartState,
    adjoint,
    flow_through,
    row_slopes,
    sensitivities,
    solve_steady,
)
from proveout.network.laws import Array

STEP = 1e-4
WIDE = 0.2
"""For a source so stiff that a small difference drowns in rounding: its effect is linear."""

NONZERO = {
    "pull_up": 2200.0,
    "open_resistance": 5e4,
    "extra": 8.0,
    "extra_high": 30.0,
    "extra_low": 40.0,
    "emf": 3.0,
    "bypass": 3e3,
    "leak": 5e3,
    "leakage": 5e3,
    "bleed": 2e3,
    "leak_area": 3.0,
    "back_area": 3.0,
    "rest_leak": 3.0,
    "apply_leak": 3.0,
    "pedal_force": 3e4,
    "difference": 3e4,
    "load": 0.4,
    "cooling": 0.6,
    "vacuum": 5e4,
}
"""Values that matter where the default is zero, infinite or too large to be seen."""

FEEDS = {"electrical": (14.0, 1.0), "pneumatic": (-7e4, 3e4), "hydraulic": (8e6, 1e9), "thermal": (90.0, 1.0)}
"""By domain: effort that feeds the harness, and how many times the electrical resistances it has."""


def harnessed(kind: str) -> tuple[Netlist, list[PartState]]:
    """Return the element with each terminal on a divider of its own, so that every parameter can be seen.

    The divider stands on 14 V, or on a usual effort of the terminal's domain.
    """
    element = ELEMENTS[kind]
    names = [f"t{k}" for k in range(len(element.terminals))]
    domains = [element.domain_of(terminal) for terminal in element.terminals]
    parts: list[Part] = []
    for domain in dict.fromkeys(domains):
        feed = (f"{domain} plus", "gnd")
        parts.append((f"source {domain}", f"battery@{domain}", feed, {"emf": FEEDS[domain][0], **IDEAL}))
    for k, (name, domain) in enumerate(zip(names, domains, strict=True)):
        up, down = (r * FEEDS[domain][1] for r in (40.0 + 500.0 * k, 900.0 / (1 + 3 * k)))
        parts.append((f"up{k}", f"resistor@{domain}", (f"{domain} plus", name), {"resistance": up}))
        parts.append((f"down{k}", f"resistor@{domain}", (name, "gnd"), {"resistance": down}))
    changes = {name: NONZERO[name] for name in element.parameters if name in NONZERO}
    parts.append(("it", kind, tuple(names), changes))
    return network(parts, leakage=1e9)


def solved_voltages(netlist: Netlist, states: list[PartState]) -> Array:
    return solve_steady(netlist, netlist.batch(states, 1), tolerance=1e-14).effort[:-1, 0]


@pytest.mark.parametrize("on", [True, False], ids=["on", "off"])
@pytest.mark.parametrize("kind", [kind for kind, element in ELEMENTS.items() if element.drive is None])
def test_sensitivities_agree_with_differences_of_full_solutions(kind: str, on: bool) -> None:
    netlist, states = harnessed(kind)
    part = netlist.part["it"]
    values = states[part].values
    states[part] = PartState(values, on)
    solution = solve_steady(netlist, netlist.batch(states, 1), tolerance=1e-14)
    pairs = [(node, netlist.size) for node in range(netlist.size)]
    really_on = bool(solution.on[0, 0]) if netlist.gates else on
    names = list(values)
    changes = [row_slopes(netlist, states, part, name, on=really_on) for name in names]
    as_rows = [{row: np.array([slope]) for row, slope in change.items()} for change in changes]
    found = sensitivities(netlist, solution, adjoint(netlist, solution, pairs), as_rows)
    for z, name in enumerate(names):
        ends = []
        step = WIDE if kind == "surrounding_air" else STEP
        for factor in (1 + step, 1 - step):
            states[part] = PartState({**values, name: np.asarray(values[name]) * factor}, on)
            ends.append(solved_voltages(netlist, states))
        np.testing.assert_allclose(found[:, z, 0], (ends[0] - ends[1]) / (2 * step), rtol=2e-5, atol=2e-9, err_msg=name)


def test_the_harness_of_the_check_above_lets_nearly_every_parameter_be_seen() -> None:
    """What moves no branch is a gate's threshold, what is stored, the end of a track, the boost at run-out."""
    unseen = set()
    for kind, element in ELEMENTS.items():
        if element.drive is not None:
            continue
        netlist, states = harnessed(kind)
        part = netlist.part["it"]
        for name in element.parameters:
            seen = 0.0
            for on in (True, False):
                states[part] = PartState(states[part].values, on)
                slopes = row_slopes(netlist, states, part, name, on=on)
                seen = max([seen, *map(abs, slopes.values())])
            if seen == 0.0:
                unseen.add(name)
    assert unseen <= {
        "minimum_feed",
        "minimum_supply",
        "minimum",
        "pull_in",
        "capacitance",
        "inductance",
        "end_resistance",
        "boost",
        "volume",
        "exponent",
        "elasticity",
        "charge",
        "transfer",  # what the air's wind and the pump's speed set in other elements, and the range of a sensor
        "wind",
        "road_speed",
        "rise",
        "speed",
        "usual_speed",
        "below",
        "above",
    }


def test_the_inner_resistance_of_a_divider_is_its_resistors_in_parallel() -> None:
    parts: list[Part] = [
        ("battery", "battery", ("plus", "gnd"), {"emf": 10.0, **IDEAL}),
        ("a", "resistor", ("plus", "tap"), {"resistance": 300.0}),
        ("b", "resistor", ("tap", "gnd"), {"resistance": 600.0}),
    ]
    netlist, solution = solved(parts)
    tap, plus, ground = netlist.node["tap"], netlist.node["plus"], netlist.size
    found = adjoint(netlist, solution, [(tap, ground), (plus, tap), (tap, plus), (ground, ground)])
    np.testing.assert_allclose(found.resistance[:, 0], [200.0, 200.0, 200.0, 0.0], rtol=1e-9)


def test_the_inner_resistance_foretells_what_a_small_load_does() -> None:
    """The slope of voltage by current drawn, at a control-unit pin with its diodes."""
    netlist, batch = varied(PIN, 20, seed=9)
    solution = solve_steady(netlist, batch, tolerance=1e-13)
    pin = netlist.node["sig"]
    resistance = adjoint(netlist, solution, [(pin, netlist.size)]).resistance[0]
    meter = netlist.part["meter"]
    _, j = netlist.part_rows[meter][0]
    drawn = 1e-9
    batch.on[j] -= drawn
    batch.off[j] -= drawn
    loaded = solve_steady(netlist, batch, tolerance=1e-13)
    fall = solution.effort[pin] - loaded.effort[pin]
    np.testing.assert_allclose(fall, resistance * drawn, rtol=1e-3, atol=1e-12)


def test_transfer_resistances_are_reciprocal() -> None:
    """What a current at one pair of points does at another, it does the other way round as well."""
    netlist, batch = varied(PIN, 10, seed=4)
    solution = solve_steady(netlist, batch)
    one, other = (0, 3), (netlist.node["sig"], netlist.size)
    field = adjoint(netlist, solution, [one, other]).field
    there = field[other[0], 0] - field[other[1], 0]
    back = field[one[0], 1] - field[one[1], 1]
    np.testing.assert_allclose(there, back, rtol=1e-9, atol=1e-12)


def test_no_pair_gives_no_adjoint() -> None:
    netlist, solution = solved(PIN, leakage=1e9, count=3)
    found = adjoint(netlist, solution, [])
    assert found.field.shape == (netlist.size + 1, 0, 3)
    assert found.resistance.shape == (0, 3)


def test_the_flow_through_a_resistor_is_ohm_s() -> None:
    parts: list[Part] = [
        ("battery", "battery", ("plus", "gnd"), {"emf": 10.0, "resistance": 1.0}),
        ("load", "resistor", ("plus", "gnd"), {"resistance": 4.0}),
    ]
    netlist, solution = solved(parts)
    assert flow_through(netlist, solution, netlist.part["load"])[0] == pytest.approx(2.0)
    assert flow_through(netlist, solution, netlist.part["battery"])[0] == pytest.approx(-2.0)


def test_a_branch_that_a_part_does_not_have_is_refused() -> None:
    netlist, solution = solved(PIN, leakage=1e9)
    with pytest.raises(LookupError, match="'fuse' has no branch 1; it has 1"):
        flow_through(netlist, solution, netlist.part["fuse"], 1)


def test_a_wire_s_row_moves_with_its_length() -> None:
    """Conductance falls in proportion: d g / d ln(length) = -g."""
    netlist, states = network([("b", "battery", ("plus", "gnd"), {}), ("w", "wire", ("plus", "gnd"), {})])
    ((row, slope),) = row_slopes(netlist, states, 1, "length").items()
    assert row == netlist.part_rows[1][0][0]
    g = 1.0 / (1.7241e-8 * 1.0 / 0.5e-6)
    assert slope == pytest.approx(-g, rel=1e-6)
    assert values_of("wire")["extra"] == 0.0
