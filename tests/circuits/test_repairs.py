"""Which repair cures which part, and what must be dismantled first."""

from __future__ import annotations

import pytest

from circuits.small_circuit import SMALL
from proveout.circuits import access_closure, fault_modes, faults_of, read_circuit, repair_of, suspect_names
from proveout.errors import InputError

CIRCUIT = read_circuit(SMALL)


def test_a_part_of_a_unit_is_cured_by_replacing_the_unit() -> None:
    assert repair_of(CIRCUIT, "bead") == ("sensor", CIRCUIT.units["sensor"].repair, "Sensor")


def test_a_wire_and_a_terminal_are_suspects_of_their_own() -> None:
    assert repair_of(CIRCUIT, "w_return") == ("w_return", CIRCUIT.wire_repair, "Return wire")
    assert repair_of(CIRCUIT, "t_return") == ("t_return", CIRCUIT.terminal_repair, "t_return")


def test_a_named_repair_comes_before_the_unit() -> None:
    circuit = read_circuit(SMALL.replace("    unit: sensor\n", "    unit: sensor\n    repair: loom\n"))
    assert repair_of(circuit, "bead")[0] == "loom"


def test_a_bridge_may_be_cured_by_the_repair_of_a_wire() -> None:
    assert repair_of(CIRCUIT, "feed_to_return")[0] == "loom"
    circuit = read_circuit(SMALL.replace("repair: loom}", "repair: w_feed}"))
    assert repair_of(circuit, "feed_to_return")[0] == "w_feed"


@pytest.mark.parametrize("name", ["nothing", "battery"])
def test_what_nothing_repairs_is_named(name: str) -> None:
    with pytest.raises(InputError, match=f"'{name}'.*give it a unit or a repair"):
        repair_of(CIRCUIT, name)


def test_what_must_come_off_first_comes_first_and_once() -> None:
    assert access_closure(CIRCUIT, ["cover", "seat"]) == ("seat", "cover")
    assert access_closure(CIRCUIT, []) == ()


def test_a_healthy_part_and_a_mode_of_weight_zero_have_no_faults() -> None:
    assert faults_of(CIRCUIT, "battery") == ()
    circuit = read_circuit(SMALL.replace("{low: 0.5, high: 50}", "{weight: 0}"))
    assert faults_of(circuit, "w_return") == ("open",)
    assert "feed_to_return.short" in set(fault_modes(circuit))


def test_the_suspects_are_the_repairs_and_the_two_that_always_exist() -> None:
    expected = ("switch", "w_feed", "w_return", "t_feed", "t_return", "sensor", "loom", "no-fault-now", "none-of-these")
    assert suspect_names(CIRCUIT) == expected
