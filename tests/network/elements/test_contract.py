"""What every registered element kind owes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from network.small_networks import element_of, values_of
from proveout.network import ELEMENTS, Element, FaultMode, Netlist, PartState, Placed, flow_through, solve_steady
from proveout.network.elements import Branch, Gate, check
from proveout.network.laws import LAWS, Array

ALL = pytest.mark.parametrize("element", ELEMENTS.values(), ids=ELEMENTS.keys())
MODES = pytest.mark.parametrize(
    ("element", "mode"),
    [(element, mode) for element in ELEMENTS.values() for mode in element.faults],
    ids=[f"{element.name}-{mode.name}" for element in ELEMENTS.values() for mode in element.faults],
)


def rows(element: Element, values: dict[str, Array | float], on: bool) -> list[list[float]]:
    """Return the branch parameters for scalar values."""
    with np.errstate(divide="ignore"):
        blocks = element.expand({name: np.asarray(value, dtype=float) for name, value in values.items()}, on)
    return [[float(np.asarray(x)) for x in block] for block in blocks]


@ALL
def test_its_name_is_its_key(element: Element) -> None:
    assert ELEMENTS[element.name] is element
    assert element.title
    assert all(mode.title for mode in element.faults)


@ALL
@pytest.mark.parametrize("on", [True, False], ids=["on", "off"])
def test_good_values_expand_to_one_finite_row_for_each_law_parameter(element: Element, on: bool) -> None:
    found = rows(element, values_of(element.name), on)
    assert [len(block) for block in found] == [len(LAWS[b.law].parameters) for b in element.branches]
    assert np.isfinite(np.concatenate([np.array(block) for block in found])).all()


@ALL
def test_a_batch_of_values_expands_as_its_members(element: Element) -> None:
    factors = np.array([0.9, 1.0, 1.1])
    many = {name: np.asarray(value) * factors for name, value in values_of(element.name).items()}
    with np.errstate(divide="ignore"):
        together = element.expand(many, True)
    for k in range(3):
        alone = rows(element, {name: float(value[k]) for name, value in many.items()}, True)
        for block, expected in zip(together, alone, strict=True):
            np.testing.assert_allclose([np.broadcast_to(x, 3)[k] for x in block], expected, rtol=1e-12)


@ALL
def test_no_resistance_is_negative(element: Element) -> None:
    """A linear branch's conductance, the first parameter of its law, is at least 0: elimination relies on it."""
    for on in (True, False):
        for branch, block in zip(element.branches, rows(element, values_of(element.name), on), strict=True):
            if branch.law == "linear":
                assert block[0] >= 0


@ALL
def test_taken_out_it_carries_nothing(element: Element) -> None:
    nodes = tuple(f"t{k}" for k in range(len(element.terminals)))
    domains = [element.domain_of(terminal) for terminal in element.terminals]
    feeds = [
        Placed(f"v{k}", element_of(f"battery@{domain}"), (node, "gnd"))
        for k, (node, domain) in enumerate(zip(nodes, domains, strict=True))
    ]
    netlist = Netlist([*feeds, Placed("it", element, nodes)], "gnd")
    states = [PartState({"emf": 3.0 * (k + 1) ** 2, "resistance": 0.1}) for k in range(len(nodes))]
    states.append(PartState(values_of(element.name), present=False))
    solution = solve_steady(netlist, netlist.batch(states, 1))
    part = netlist.part["it"]
    for branch in range(len(element.branches)):
        assert not flow_through(netlist, solution, part, branch).any()
    assert not solution.on.any()


@ALL
def test_defaults_lie_within_their_limits(element: Element) -> None:
    for name, parameter in element.parameters.items():
        assert parameter.meaning, name
        assert parameter.unit, name
        if parameter.default is not None:
            assert parameter.low <= parameter.default <= parameter.high, name


@ALL
def test_what_it_stores_is_a_parameter_of_a_linear_branch(element: Element) -> None:
    for branch, name in element.storage.items():
        assert name in {"capacitance", "inductance"}
        assert name in element.parameters
        assert element.branches[branch].law == "linear"


TELLING = {
    "control_input": {"pull_up": 2200.0},
    "coil": {"emf": 0.3},
    "vacuum_sensor": {"vacuum": 5e4},
    "vacuum_booster_output": {"pedal_force": 300.0, "difference": 4e4},
    "hydraulic_booster_output": {"pedal_force": 300.0, "difference": 4e4},
    "heater_core": {"pressure": 2.0e4},
    "coolant_pump": {"speed": 30.0},
    "heated_thermostat": {"voltage": 12.0},
}
"""Values without which a fault of the kind has nothing to change: a pull-up, a turning target, a pressed pedal."""


@MODES
def test_a_fault_mode_changes_what_it_says(element: Element, mode: FaultMode) -> None:
    good = values_of(element.name, **TELLING.get(element.name, {}))
    if mode.forced is not None:
        assert element.switched or element.gate is not None
        assert rows(element, good, True) != rows(element, good, False)
        return
    assert mode.parameter is not None
    for value in {mode.low, mode.high}:
        bad = {**good, mode.parameter: float(good[mode.parameter]) * value if mode.relative else value}
        assert [rows(element, bad, on) for on in (True, False)] != [rows(element, good, on) for on in (True, False)]


@MODES
def test_a_fault_mode_has_a_frequency_and_a_range_of_severities(element: Element, mode: FaultMode) -> None:
    assert mode.weight > 0
    if mode.parameter is not None and mode.low != mode.high:
        assert 0 < mode.low < mode.high < float("inf")


@MODES
def test_a_relative_fault_never_contains_the_good_value(element: Element, mode: FaultMode) -> None:
    if mode.relative:
        assert mode.high < 1 or mode.low > 1


GOOD = Element(
    name="sample",
    title="Sample",
    terminals=("a", "b"),
    parameters=ELEMENTS["resistor"].parameters,
    branches=(Branch("linear", ("a", "b")),),
    expand=ELEMENTS["resistor"].expand,
)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (
            replace(GOOD, branches=(Branch("cubic", ("a", "b")),)),
            r"branch law 'cubic' is not one of \['charge_store', .*'wax_lift'\]",
        ),
        (
            replace(GOOD, branches=(Branch("linear", ("a", "c")),)),
            r"branch ends \('a', 'c'\) are not among \['a', 'b'\]",
        ),
        (replace(GOOD, gate=Gate("a", "z", "resistance")), "gate .* names no terminal"),
        (replace(GOOD, gate=Gate("a", "b", "pull_in")), "gate threshold 'pull_in' is no parameter"),
        (
            replace(GOOD, faults=(FaultMode("open", "open", 1.0, "resistance", 2.0, 3.0),) * 2),
            r"fault modes \['open', 'open'\] repeat a name",
        ),
        (
            replace(GOOD, faults=(FaultMode("hot", "hot", 1.0, "heat", 2.0, 3.0),)),
            "fault mode 'hot' changes the unknown parameter 'heat'",
        ),
        (
            replace(GOOD, faults=(FaultMode("high", "high", 1.0, "resistance", 3.0, 2.0),)),
            "fault mode 'high' has a range from 3.0 to 2.0",
        ),
        (
            replace(GOOD, faults=(FaultMode("low", "low", 1.0, "resistance", -1.0, 2.0),)),
            "fault mode 'low' has a range from -1.0 to 2.0",
        ),
        (
            replace(GOOD, faults=(FaultMode("idle", "idle", 1.0),)),
            "fault mode 'idle' must change one parameter or force one state",
        ),
        (
            replace(GOOD, faults=(FaultMode("both", "both", 1.0, "resistance", 1.0, 2.0, forced=True),)),
            "fault mode 'both' must change one parameter or force one state",
        ),
    ],
)
def test_a_wrong_definition_is_refused(wrong: Element, message: str) -> None:
    check(GOOD)
    with pytest.raises(ValueError, match=f"element kind 'sample': {message}"):
        check(wrong)
