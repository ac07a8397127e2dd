"""The reference itself is checked by hand: dividers, Shockley's law, Ohm's law, gates, and a meter's loading."""

from __future__ import annotations

import math
from typing import Any

import pytest

from proveout.circuits.schema import Circuit
from reference import NgspiceError, Probe, Situation, SpiceNetlist, behaviour, ngspice, reading, signals, solve

NO_REPAIR = {"title": "invented", "minutes": 1.0}


def circuit(parts: dict[str, Any], **more: Any) -> Circuit:
    """Return an invented circuit: a battery of 12 V behind 1 ohm with the given parts."""
    battery = {"kind": "battery", "nodes": ["bat", "gnd"], "values": {"emf": 12.0, "resistance": 1.0}}
    nodes = {node for part in parts.values() for node in part["nodes"]} | {"bat", "gnd"}
    whole = {
        "schema": 1,
        "name": "invented",
        "title": "Invented",
        "ground": "gnd",
        "conditions": {"key": {"title": "Key", "default": "off", "values": ["off", "on"]}},
        "parts": {"battery": battery, **parts},
        "wire_repair": NO_REPAIR,
        "terminal_repair": NO_REPAIR,
        "points": {node: {"node": node, "title": node} for node in nodes},
        "setups": {"off": {"title": "Off"}, "on": {"title": "On", "set": {"key": "on"}}},
        "proof": "lit",
        **more,
    }
    return Circuit.model_validate(whole)


def resistor(a: str, b: str, resistance: float) -> dict[str, Any]:
    return {"kind": "resistor", "nodes": [a, b], "values": {"resistance": resistance}}


def measured(parts: dict[str, Any], setup: str = "off", **measurement: Any) -> Circuit:
    return circuit(parts, measurements={"m": {"setup": setup, **measurement}})


def test_a_divider_halves_the_battery() -> None:
    point = solve(
        SpiceNetlist(Situation(circuit({"u": resistor("bat", "mid", 5.0), "l": resistor("mid", "gnd", 6.0)}), "off"))
    )
    assert point.voltage["mid"] == pytest.approx(6.0, rel=1e-6)  # 12 V x 6 / (1 + 5 + 6)


def test_a_diode_follows_shockleys_law() -> None:
    diode = {"kind": "diode", "nodes": ["bat", "k"], "values": {"saturation": 1e-9, "width": 0.045}}
    point = solve(SpiceNetlist(Situation(circuit({"d": diode, "load": resistor("k", "gnd", 100.0)}), "off")))
    current = point.voltage["k"] / 100.0
    assert point.between("bat", "k") == pytest.approx(0.045 * math.log(current / 1e-9 + 1.0), rel=1e-5)


def test_a_diode_breaks_down_at_its_breakdown_voltage() -> None:
    diode = {"kind": "diode", "nodes": ["gnd", "k"], "values": {"saturation": 1e-12, "width": 0.03, "breakdown": 5.0}}
    point = solve(SpiceNetlist(Situation(circuit({"d": diode, "feed": resistor("bat", "k", 1000.0)}), "off")))
    current = (12.0 - point.voltage["k"]) / 1001.0
    assert point.voltage["k"] == pytest.approx(5.0 + 0.03 * math.log(current / 1e-12), rel=1e-5)


@pytest.mark.parametrize("load", [1e6, 100.0, 50.0, 20.0, 0.1])
def test_a_regulated_supply_bends_over_to_its_limit(load: float) -> None:
    values = {"voltage": 5.0, "resistance": 0.5, "limit": 0.1, "bleed": 1e9, "minimum_feed": 6.0}
    supply = {"kind": "regulator", "nodes": ["ref", "gnd", "bat"], "values": values}
    point = solve(SpiceNetlist(Situation(circuit({"s": supply, "load": resistor("ref", "gnd", load)}), "off")))
    asked = (5.0 - point.voltage["ref"]) / 0.5
    assert point.voltage["ref"] * (1.0 / load + 2e-9) == pytest.approx(0.1 * math.tanh(asked / 0.1), rel=1e-4)


def test_a_regulated_supply_takes_little_when_it_is_held_up() -> None:
    values = {"voltage": 5.0, "resistance": 0.5, "take": 0.004, "bleed": 1e9}
    supply = {"kind": "regulator", "nodes": ["ref", "gnd", "bat"], "values": values}
    point = solve(SpiceNetlist(Situation(circuit({"s": supply, "short": resistor("bat", "ref", 99.0)}), "off")))
    assert point.voltage["ref"] == pytest.approx(12.0 - 100.0 * 0.004, rel=1e-4)


def test_a_lamp_draws_its_rated_power_and_a_tenth_of_its_resistance_cold() -> None:
    lamp = {"kind": "lamp", "nodes": ["bat", "gnd"], "values": {"rated_voltage": 12.0, "power": 24.0}}
    rated = circuit(
        {
            "lamp": lamp,
            "source": {"kind": "battery", "nodes": ["bat", "gnd"], "values": {"emf": 12.0, "resistance": 1e-6}},
        }
    )
    point = solve(SpiceNetlist(Situation(rated, "off"), metered={"lamp": 0.0}))
    assert point.current["lamp"] == pytest.approx(2.0, rel=1e-5)
    cold = circuit({"lamp": {**lamp, "nodes": ["a", "gnd"]}, "feed": resistor("bat", "a", 1e5)})
    point = solve(SpiceNetlist(Situation(cold, "off"), metered={"lamp": 0.0}))
    assert point.voltage["a"] / point.current["lamp"] == pytest.approx(0.6, rel=1e-4)


def test_a_two_level_sensor_holds_its_current() -> None:
    values = {"low_current": 0.007, "high_current": 0.014, "knee": 0.8}
    sink = {"kind": "current_sink", "nodes": ["s", "gnd"], "values": values, "when": {"key": ["on"]}}
    made = circuit({"sink": sink, "sense": resistor("bat", "s", 99.0)})
    for setup, level in (("off", 0.007), ("on", 0.014)):
        point = solve(SpiceNetlist(Situation(made, setup)))
        held = level * (1.0 - math.exp(-point.voltage["s"] / 0.8))
        assert (12.0 - point.voltage["s"]) / 100.0 == pytest.approx(held, rel=1e-5)


def relay_circuit(feed: float, load: float) -> Circuit:
    relay = {
        "kind": "relay",
        "nodes": ["coil", "gnd", "bat", "out"],
        "values": {"coil_resistance": 80.0, "lead": 1e-6, "pull_in": 7.0},
    }
    return circuit({"feed": resistor("bat", "coil", feed), "relay": relay, "load": resistor("out", "gnd", load)})


def test_a_relay_closes_above_its_pull_in_voltage() -> None:
    assert solve(SpiceNetlist(Situation(relay_circuit(10.0, 100.0), "off"))).voltage["out"] > 11.0
    assert abs(solve(SpiceNetlist(Situation(relay_circuit(100.0, 100.0), "off"))).voltage["out"]) < 1e-4


def test_a_relay_that_chatters_counts_as_open() -> None:
    point = solve(SpiceNetlist(Situation(relay_circuit(10.0, 0.5), "off")))
    assert not point.on["relay"]
    assert abs(point.voltage["out"]) < 1e-4


def test_faults_replace_multiply_or_hold() -> None:
    made = relay_circuit(10.0, 100.0)
    burnt = solve(SpiceNetlist(Situation(made, "off", faults=[("relay", "contact_resistive", 100.0)])))
    assert burnt.voltage["out"] == pytest.approx(burnt.voltage["bat"] / 2.0, rel=1e-5)
    shorted = solve(SpiceNetlist(Situation(made, "off", faults=[("relay", "coil_short", 0.1)]), metered={"relay": 0.0}))
    assert shorted.current["relay"] == pytest.approx(shorted.voltage["coil"] / 8.0, rel=1e-5)
    dead = solve(SpiceNetlist(Situation(made, "off", faults=[("relay", "coil_open", math.inf)])))
    assert dead.voltage["coil"] > 11.0
    assert abs(dead.voltage["out"]) < 1e-4
    welded = [("relay", "contact_welded", None), ("feed", "open", math.inf)]
    assert solve(SpiceNetlist(Situation(made, "off", faults=welded))).voltage["out"] > 11.0


def test_an_open_wire_leaves_leakage_only() -> None:
    point = solve(SpiceNetlist(Situation(circuit({"pull": resistor("bat", "far", 1e9)}), "off")))
    assert point.voltage["far"] == pytest.approx(6.0, rel=1e-4)  # 1 Gohm of the part over 1 Gohm of leakage


def test_a_voltmeter_loads_what_it_reads() -> None:
    made = measured({"pull": resistor("bat", "far", 1e7)}, function="volts_dc", red="far", black="gnd")
    # 12 V behind 10 Mohm on a 10 Mohm meter, with 1 Gohm of leakage beside it.
    across = 1.0 / (1.0 / 1e7 + 1.0 / 1e9)
    assert reading(Situation(made, "off"), "m") == pytest.approx(12.0 * across / (across + 1e7), rel=1e-5)


@pytest.mark.parametrize("ohms", [5.0, 470.0, 4.7e3, 47e3, 470e3, 4.7e6])
def test_an_ohmmeter_shows_a_resistor(ohms: float) -> None:
    made = measured({"r": resistor("a", "b", ohms)}, function="ohms", red="a", black="b")
    # Half of 1 Gohm from each end to ground: two leaks in series across the part.
    assert reading(Situation(made, "off"), "m") == pytest.approx(1.0 / (1.0 / ohms + 0.5e-9), rel=1e-5)


def test_an_ohmmeter_shows_over_limit_across_an_open() -> None:
    made = measured({"r": resistor("a", "b", 10.0)}, function="ohms", red="a", black="b")
    assert reading(Situation(made, "off", faults=[("r", "open", math.inf)]), "m") == math.inf


def test_an_ammeter_adds_its_burden() -> None:
    made = measured({"r": resistor("bat", "gnd", 300.0)}, function="amps", through="r")
    assert reading(Situation(made, "off"), "m") == pytest.approx(12.0 / (1.0 + 300.0 + 2.0), rel=1e-6)
    clamp = measured({"r": resistor("bat", "gnd", 300.0)}, function="amps_clamp", through="r")
    assert reading(Situation(clamp, "off"), "m") == pytest.approx(12.0 / 301.0, rel=1e-6)


def stage() -> dict[str, Any]:
    values = {"resistance": 1.0}
    pull_up = resistor("bat", "out", 99.0)
    return {
        "pull": pull_up,
        "stage": {"kind": "switch", "nodes": ["out", "gnd"], "values": values, "when": {"key": ["on"]}},
    }


PHASES = {
    "spin": {"title": "Spin", "phases": [{"set": {"key": "on"}, "share": 0.25}, {"set": {"key": "off"}, "share": 0.75}]}
}


@pytest.mark.parametrize(
    ("function", "shown"),
    [
        ("volts_dc", 0.25 * 12.0 / 101.0 + 0.75 * 12.0),
        ("volts_ac", math.sqrt(0.25 * 0.75) * (12.0 - 12.0 / 101.0)),
        ("scope_low", 12.0 / 101.0),
        ("scope_high", 12.0),
        ("scope_swing", 12.0 - 12.0 / 101.0),
    ],
)
def test_a_switching_signal_shows_its_mean_rms_and_levels(function: str, shown: float) -> None:
    reads = {"m": {"setup": "spin", "function": function, "red": "out", "black": "gnd"}}
    made = circuit(stage(), setups=PHASES, measurements=reads)
    assert reading(Situation(made, "spin"), "m") == pytest.approx(shown, rel=2e-4)  # a scope of 1 Mohm on 100 ohm


def test_signals_and_behaviours_follow_the_voltages() -> None:
    swings = {
        "title": "Swings",
        "setup": "spin",
        "checks": [{"between": ["out", "gnd"], "quantity": "swing", "at_least": 8.0}],
    }
    outcomes = {
        "lit": {"title": "Lit", "when": {"swings": True}, "good": True},
        "dark": {"title": "Dark", "when": {"swings": False}},
    }
    lamp = {"title": "Lamp", "kind": "complaint", "setup": "spin", "outcomes": outcomes}
    made = circuit(stage(), setups=PHASES, signals={"swings": swings}, behaviours={"lit": lamp})
    sound, stuck = Situation(made, "spin"), Situation(made, "spin", faults=[("stage", "stuck_open", None)])
    assert signals(sound) == {"swings": True}
    assert behaviour(sound, "lit") == "lit"
    assert behaviour(stuck, "lit") == "dark"


def test_an_unplugged_connector_and_a_removed_part_open_the_circuit() -> None:
    terminal = {"kind": "terminal", "nodes": ["bat", "t"], "connector": "C", "cavity": "1"}
    parts = {"t": terminal, "r": resistor("t", "far", 10.0), "load": resistor("far", "gnd", 10.0)}
    setups = {
        "mated": {"title": "Mated"},
        "unplugged": {"title": "Unplugged", "unplugged": ["C"]},
        "removed": {"title": "Removed", "removed": ["r"]},
    }
    made = circuit(parts, setups=setups, connectors={"C": {"title": "C"}})
    far = {s: solve(SpiceNetlist(Situation(made, s), Probe("far", "gnd", 1e7))).voltage["far"] for s in setups}
    assert far["mated"] == pytest.approx(12.0 * 10.0 / 21.005, rel=1e-5)
    assert abs(far["unplugged"]) < 1e-6
    assert abs(far["removed"]) < 1e-6


def test_a_netlist_that_ngspice_cannot_read_is_quoted() -> None:
    with pytest.raises(NgspiceError, match="could not find a valid modelname"):
        ngspice().load(["bad", "v1 a 0 12", "q b 0 3k", ".end"])


def test_a_network_without_a_solution_is_refused_and_the_next_one_solves() -> None:
    engine = ngspice()
    engine.load(["two sources at odds", "v1 a 0 12", "v2 a 0 10", ".end"])
    with pytest.raises(NgspiceError, match="aborted"):
        engine.operating_point()
    engine.load(["divider", "v1 a 0 12", "r1 a b 1k", "r2 b 0 1k", ".end"])
    engine.operating_point()
    assert engine.scalars(["b", "0"]) == pytest.approx([6.0, 0.0])
