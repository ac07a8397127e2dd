"""Mistakes of set-ups that run in time, of gauges and of domains, each reported with what to write instead."""

from __future__ import annotations

import pytest

from proveout.circuits import read_circuit, ready_text
from proveout.errors import CircuitError

BOOSTER = ready_text("vacuum-booster")


@pytest.mark.parametrize(
    ("old", "new", "place", "found", "instead"),
    [
        (
            'sequence: [{set: {engine: "off"}, seconds: 300}]',
            'sequence: [{set: {engine: "off"}}]',
            "setups.standing.sequence, item 1",
            "without 'seconds'",
            "Add 'seconds: ...'",
        ),
        (
            'sequence: [{set: {engine: "off"}, seconds: 30}]',
            'sequence: [{set: {motor: "off"}, seconds: 30}]',
            "setups.standing_pressed.sequence, item 1.set.motor",
            "unknown condition 'motor'",
            "conditions",
        ),
        (
            "      - times: 7\n",
            "      - times: 7\n        seconds: 3\n",
            "setups.strokes.sequence, item 2",
            "beside 'stages'",
            "Move it",
        ),
        ("      - times: 7\n", "      - times: 1\n", "measurements.strokes_left.setup", "repeats nothing", "'times'"),
        ("at_least: 22.0e+3, ", "", "measurements.strokes_left", "no 'at_least'", "Add 'at_least: ...'"),
        (
            "function: vacuum_gauge, red: hose_end,",
            "function: vacuum_gauge, red: hose_end, black: bleeder,",
            "measurements.supply_vacuum.black",
            "'black' on vacuum_gauge",
            "Remove it",
        ),
        (
            "nodes: [line, air, rear, front]",
            "nodes: [front, air, rear, line]",
            "parts.output.nodes, item 1",
            "pneumatic at 'check_valve' and hydraulic here",
            "Correct one of the two",
        ),
    ],
)
def test_a_mistake_is_reported_at_its_place(old: str, new: str, place: str, found: str, instead: str) -> None:
    assert old in BOOSTER
    with pytest.raises(CircuitError) as caught:
        read_circuit(BOOSTER.replace(old, new, 1))
    told = [m for m in caught.value.mistakes if m.place == place and found in m.found]
    assert told, [str(m) for m in caught.value.mistakes]
    assert instead in told[0].instead
