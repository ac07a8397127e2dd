"""How parts become nodes, branches and batches, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from network.small_networks import PIN, network, values_of
from proveout.errors import NetworkError
from proveout.network import ELEMENTS, Netlist, PartState, Placed


def test_ground_is_the_last_node_and_inner_nodes_carry_their_part_s_name() -> None:
    netlist, _ = network([("b", "battery", ("plus", "gnd"), {}), ("k", "relay", ("plus", "gnd", "plus", "out"), {})])
    assert netlist.nodes[-1] == "gnd"
    assert "k:winding" in netlist.nodes
    assert netlist.size == len(netlist.nodes) - 1


def test_every_row_belongs_to_one_branch_of_one_part() -> None:
    netlist, _ = network(PIN)
    rows = [row for blocks in netlist.part_rows for block in blocks for row in block]
    assert sorted(rows) == list(range(netlist.rows))
    assert sorted(row for group in netlist.groups for row in group.rows.ravel().tolist()) == sorted(rows)


def test_a_row_is_named_in_words() -> None:
    netlist, _ = network(PIN)
    row = netlist.part_rows[netlist.part["pin"]][3][1]
    assert netlist.row_name(row) == "parameter w of the diode branch ground to pin of 'pin' (control_input)"
    with pytest.raises(LookupError, match="no parameter row 999"):
        netlist.row_name(999)


def test_varying_a_part_leaves_the_other_variants_alone() -> None:
    netlist, states = network(PIN)
    batch = netlist.batch(states, 6)
    before = batch.on.copy()
    lamp = netlist.part["lamp"]
    netlist.vary(batch, lamp, slice(2, 4), PartState(values_of("lamp", power=np.array([10.0, 21.0]))))
    changed = np.argwhere(batch.on != before)
    assert set(changed[:, 1].tolist()) == {2, 3}
    assert set(changed[:, 0].tolist()) <= set(netlist.part_rows[lamp][0])


def test_only_gated_parts_differ_between_on_and_off() -> None:
    netlist, states = network(PIN)
    batch = netlist.batch(states, 1)
    gated = {row for gate in netlist.gates for row in gate.rows.tolist()}
    assert set(np.flatnonzero((batch.on != batch.off)[:, 0]).tolist()) <= gated
    assert len(netlist.gates) == 2


def test_a_forced_part_ignores_its_gate() -> None:
    netlist, states = network(PIN)
    sender = netlist.part["sender"]
    for forced in (True, False):
        states[sender] = PartState(states[sender].values, forced=forced)
        batch = netlist.batch(states, 1)
        rows = [row for block in netlist.part_rows[sender] for row in block]
        np.testing.assert_array_equal(batch.on[rows], batch.off[rows])


def test_taking_variants_keeps_all_that_belongs_to_them() -> None:
    netlist, states = network(PIN)
    batch = netlist.batch(states, 5)
    batch.on[0] = np.arange(5.0)
    some = batch.take(np.array([4, 1]))
    assert some.on[0].tolist() == [4.0, 1.0]
    assert some.enabled.shape == some.threshold.shape == (2, 2)


def test_an_element_with_the_wrong_number_of_nodes_is_refused() -> None:
    with pytest.raises(NetworkError, match=r"'r' \(resistor\) has 3 nodes; it takes 2: a, b"):
        Netlist([Placed("r", ELEMENTS["resistor"], ("a", "b", "gnd"))], "gnd")


def test_a_ground_that_no_element_touches_is_refused() -> None:
    with pytest.raises(NetworkError, match="no element touches the ground node 'gnd'; connect the battery"):
        Netlist([Placed("r", ELEMENTS["resistor"], ("a", "b"))], "gnd")
