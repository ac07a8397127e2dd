"""Every mistake is reported on its own line, once, with what to write instead."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from circuits.small_circuit import SMALL, line_of
from proveout.circuits import read_circuit
from proveout.errors import CircuitError, Mistake


@dataclass(frozen=True)
class Slip:
    """One change of the small circuit, and what must be said about it. `at` is the text at the line reported."""

    old: str
    new: str
    at: str
    place: str
    found: str
    instead: str

    def __str__(self) -> str:
        return f"{self.place}: {self.found}"


SCHEMA_SLIPS = (
    Slip(
        "nodes: [bat, feed]",
        "nods: [bat, feed]",
        "nods",
        "parts.key_switch.nods",
        "unknown field 'nods'",
        "Write 'nodes'",
    ),
    Slip("proof: gauge\n", "", "schema: 1", "proof", "no 'proof'", "Add 'proof: ...'"),
    Slip("minutes: 20", "minutes: 20 min", "switch: {title", "repairs.switch.minutes", "'20 min'", "such as 20"),
    Slip("minutes: 20", "minutes: -20", "switch: {title", "repairs.switch.minutes", "-20", "at least 0"),
    Slip(
        "emf: {value: 12.6,",
        "emf: {value: 12.6 V,",
        "12.6 V",
        "parts.battery.values.emf.value",
        "'12.6 V'",
        "in V alone",
    ),
    Slip("length: 2.0", "length: [2.0]", "[2.0]", "parts.w_feed.values.length", "a list of one", "a number in m"),
    Slip("colour: [BN]", "colour: [BR]", "[BR]", "parts.w_return.colour, item 1", "'BR'", "Write one of these"),
    Slip("colour: [BN]", "colour: BN", "colour: BN", "parts.w_return.colour", "'BN'", "Write a list"),
    Slip(
        "function: amps_clamp",
        "function: amps_clam",
        "amps_clam,",
        "measurements.current.function",
        "'amps_clam'",
        "Write amps_clamp",
    ),
    Slip("name: small", "name: Small Circuit", "name: Small", "name", "'Small Circuit'", "crank-hall-5v"),
    Slip("title: Feed to return,", "title: 7,", "title: 7", "bridges.feed_to_return.title", "7", "in quotes"),
    Slip(
        "nodes: [feed_s, return_s], title",
        "nodes: [feed_s], title",
        "nodes: [feed_s],",
        "bridges.feed_to_return.nodes",
        "no item 2",
        "Add",
    ),
    Slip("units:\n", "units: 5\nunits_:\n", "units: 5", "units", "5", "Write 'name: ...' entries"),
    Slip("healthy: true", "healthy: maybe", "maybe", "parts.battery.healthy", "'maybe'", "Write true or false"),
    Slip(
        'share: 0.5}\n      - {set: {key: "off"}, share: 0.5}',
        "share: 1.5}",
        "share: 1.5",
        "setups.halves.phases, item 1.share",
        "1.5",
        "at most 1",
    ),
)

YAML_SLIPS = (
    Slip(
        'key: ["on"]',
        "key: [on]",
        "key: [on]",
        "parts.key_switch.when.key, item 1",
        "on without quotes",
        'Write "on" in quotes',
    ),
    Slip(
        'key_on: {title: Key on, set: {key: "on"}}',
        "key_on: {title: Key on, set: {key: on}}",
        "set: {key: on}",
        "setups.key_on.set.key",
        "on without quotes",
        'Write "on" in quotes',
    ),
    Slip("healthy: true", "healthy: yes", "healthy: yes", "parts.battery.healthy", "yes without quotes", "Write true"),
    Slip("title: Key,", "title: off,", "title: off", "conditions.key.title", "off without quotes", '"off" in quotes'),
    Slip(
        "  seat: {title",
        "  cover: {title: Again, minutes: 1}\n  seat: {title",
        "  cover:",
        "access.cover",
        "a second time on line",
        "Rename or remove",
    ),
    Slip("length: 2.0", "length: .nan", ".nan", "parts.w_feed.values.length", ".nan", "Write a number"),
    Slip("minutes: 20", "minutes: .inf", ".inf", "repairs.switch.minutes", ".inf", "Write a finite number"),
    Slip("length: 2.0", "length: !m 2.0", "!m", "parts.w_feed.values.length", "'!m'", "Remove the tag"),
)

PART_SLIPS = (
    Slip(
        "kind: battery",
        "kind: batery",
        "batery",
        "parts.battery.kind",
        "unknown element kind 'batery'",
        "Write 'battery'",
    ),
    Slip(
        "nodes: [bat, feed]",
        "nodes: [bat, feed, gnd]",
        "[bat, feed, gnd]",
        "parts.key_switch.nodes",
        "3 nodes",
        "[a, b]",
    ),
    Slip(
        "nodes: [bat, feed]",
        "nodes: [feed, feed]",
        "[feed, feed]",
        "parts.key_switch.nodes",
        "'feed' at every terminal",
        "bridged",
    ),
    Slip(
        "area: 0.5}",
        "area: 0.5, lenght: 1}",
        "lenght",
        "parts.w_feed.values.lenght",
        "unknown value 'lenght'",
        "Write 'length'",
    ),
    Slip(
        "      resistance_25: {value: 2500, tol: 0.05, source: common practice}\n",
        "",
        "    values:\n",
        "parts.bead.values",
        "no value 'resistance_25'",
        "Add 'resistance_25:",
    ),
    Slip("area: 0.5}", "area: 0.01}", "area: 0.01", "parts.w_feed.values.area", "the value 0.01", "read in mm2"),
    Slip(
        "condition: temperature, scale",
        "condition: temprature, scale",
        "temprature",
        "parts.bead.values.temperature.condition",
        "unknown condition 'temprature'",
        "Write 'temperature'",
    ),
    Slip(
        "condition: temperature, scale",
        "condition: key, scale",
        "condition: key",
        "parts.bead.values.temperature.condition",
        "which is a choice",
        "without a list of values",
    ),
    Slip(
        "scale: 1.0}",
        "scale: 1.0, offset: -400}",
        "-400",
        "parts.bead.values.temperature",
        "the value -380",
        "read in C",
    ),
    Slip(
        "    healthy: true\n",
        '    healthy: true\n    when: {key: ["on"]}\n',
        "when: {key",
        "parts.battery.when",
        "'when' on a battery",
        "Remove it",
    ),
    Slip(
        'when: {key: ["on"]}',
        'when: {kee: ["on"]}',
        "kee",
        "parts.key_switch.when.kee",
        "unknown condition 'kee'",
        "Write 'key'",
    ),
    Slip(
        'when: {key: ["on"]}',
        'when: {key: ["run"]}',
        "run",
        "parts.key_switch.when.key, item 1",
        '"run"',
        "Write one of these",
    ),
    Slip(
        "faults: {resistive:",
        "faults: {resistve:",
        "resistve",
        "parts.w_return.faults.resistve",
        "unknown fault mode",
        "Write 'resistive'",
    ),
    Slip(
        "{low: 0.5, high: 50}",
        "{low: 50, high: 0.5}",
        "low: 50",
        "parts.w_return.faults.resistive",
        "50 to 0.5",
        "Exchange",
    ),
    Slip(
        "    unit: sensor\n",
        "    unit: sensor\n    colour: [RD]\n",
        "colour: [RD]\n",
        "parts.bead.colour",
        "a colour on a thermistor",
        "Move it",
    ),
    Slip(
        "    unit: sensor\n",
        "    unit: sensor\n    connector: CS\n",
        "bead:",
        "parts.bead",
        "a connector or cavity on a thermistor",
        "Put a terminal",
    ),
    Slip(
        'connector: CS, cavity: "2"}\n  bead',
        'connector: CX, cavity: "2"}\n  bead',
        "CX",
        "parts.t_return.connector",
        "unknown connector 'CX'",
        "Write",
    ),
    Slip(
        'connector: CS, cavity: "2"}\n  bead',
        "connector: CS}\n  bead",
        "  t_return",
        "parts.t_return",
        "no 'cavity'",
        "Add 'cavity",
    ),
    Slip(
        'connector: CS, cavity: "2"}\n  bead',
        'connector: CS, cavity: "1"}\n  bead',
        "  t_return",
        "parts.t_return.cavity",
        "in which 't_feed' already is",
        "the other cavity",
    ),
)

NETWORK_SLIPS = (
    Slip("ground: gnd", "ground: ground", "ground: ground", "ground", "'ground', at which no part is", "Name the node"),
    Slip("ground: gnd\n", "", "schema: 1", "ground", "no 'ground'", "Add 'ground"),
    Slip(
        "nodes: [return_s, gnd]",
        "nodes: [return_s, gdn]",
        "gdn",
        "parts.w_return.nodes, item 2",
        "'gdn', at which nothing else is",
        "Write 'gnd'",
    ),
    Slip(
        "bridges:\n",
        "  loose: {kind: wire, nodes: [x1, x2]}\n  loose2: {kind: wire, nodes: [x2, x1]}\nbridges:\n",
        "  loose:",
        "parts.loose.nodes",
        "no connection to ground",
        "missing from the chain",
    ),
    Slip(
        "nodes: [feed_s, return_s], title",
        "nodes: [feed_x, return_s], title",
        "feed_x",
        "bridges.feed_to_return.nodes, item 1",
        "unknown node 'feed_x'",
        "Write 'feed_s'",
    ),
    Slip(
        "nodes: [feed_s, return_s], title",
        "nodes: [feed_s, feed_s], title",
        "[feed_s, feed_s]",
        "bridges.feed_to_return.nodes",
        "to itself",
        "neighbour",
    ),
    Slip(
        "title: Feed to return,",
        "title: Feed to return, low: 10, high: 1,",
        "low: 10",
        "bridges.feed_to_return",
        "low 10, high 1",
        "Correct",
    ),
    Slip(
        "  feed_to_return:",
        "  w_feed:",
        "  w_feed: {nodes",
        "bridges.w_feed",
        "'w_feed' of a part",
        "Rename the bridge",
    ),
)

CONDITION_SLIPS = (
    Slip('default: "off", values', 'default: "of", values', '"of"', "conditions.key.default", '"of"', 'Write "off"'),
    Slip("default: 20,", "default: warm,", "warm,", "conditions.temperature.default", '"warm"', "Write a number"),
    Slip(
        'set: {key: "off"}}',
        'set: {kez: "off"}}',
        "kez",
        "setups.key_off.set.kez",
        "unknown condition 'kez'",
        "Write 'key'",
    ),
    Slip('set: {key: "off"}}', 'set: {key: "offf"}}', "offf", "setups.key_off.set.key", '"offf"', 'Write "off"'),
    Slip(
        'set: {key: "off"}}',
        'set: {key: "off", temperature: hot}}',
        "hot",
        "setups.key_off.set.temperature",
        '"hot"',
        "Write a number",
    ),
    Slip(
        '- {set: {key: "on"}, share',
        '- {set: {kye: "on"}, share',
        "kye",
        "setups.halves.phases, item 1.set.kye",
        "unknown condition",
        "Write",
    ),
    Slip(
        '"off"}, share: 0.5',
        '"off"}, share: 0.4',
        "    phases:",
        "setups.halves.phases",
        "sum to 0.9",
        "Correct the shares",
    ),
    Slip(
        "unplugged: [CS]",
        "unplugged: [SC]",
        "[SC]",
        "setups.unplugged.unplugged, item 1",
        "unknown connector 'SC'",
        "Write",
    ),
    Slip(
        "unplugged: [CS]}",
        "unplugged: [CS], removed: [w_fed]}",
        "w_fed]",
        "setups.unplugged.removed, item 1",
        "unknown part 'w_fed'",
        "Write 'w_feed'",
    ),
)

PLACE_SLIPS = (
    Slip(
        "  CS: {title: Sensor connector, access: [cover]}",
        "  CS: {title: Sensor connector}\n  CX: {title: Other}",
        "  CX",
        "connectors.CX",
        "without terminals",
        "or remove it",
    ),
    Slip(
        'cavity: "2", side: component',
        'cavity: "4", side: component',
        '"4"',
        "points.pin_2.cavity",
        "cavity 4 of CS, which does not exist",
        "Write one of these",
    ),
    Slip(
        'cavity: "2", side: component',
        'cavity: "1", side: component',
        "pin_2:",
        "points.pin_2.node",
        "not at cavity 1 of CS",
        "Write",
    ),
    Slip(
        'connector: CS, cavity: "2", side: component',
        'connector: CQ, cavity: "2", side: component',
        "CQ",
        "points.pin_2.connector",
        "unknown connector 'CQ'",
        "Write",
    ),
    Slip(
        'connector: CS, cavity: "2", side: component',
        "connector: CS",
        "pin_2:",
        "points.pin_2",
        "no 'cavity'",
        "Add 'cavity",
    ),
    Slip(
        'connector: CS, cavity: "2", side: component',
        "side: component",
        "pin_2:",
        "points.pin_2",
        "without a connector",
        "Add 'connector",
    ),
    Slip(
        "bat_neg: {node: gnd,",
        "bat_neg: {node: gdn,",
        "gdn",
        "points.bat_neg.node",
        "unknown node 'gdn'",
        "Write 'gnd'",
    ),
)

MEASUREMENT_SLIPS = (
    Slip(
        "current: {setup: key_on,",
        "current: {setup: key_onn,",
        "key_onn",
        "measurements.current.setup",
        "unknown set-up 'key_onn'",
        "Write",
    ),
    Slip("red: cs_1,", "red: cs_x,", "cs_x", "measurements.feed-v.red", "unknown point 'cs_x'", "Write"),
    Slip("red: cs_1, black: bat_neg", "red: cs_1", "feed-v", "measurements.feed-v", "no 'black'", "Add 'black"),
    Slip(
        "red: cs_1, black: bat_neg",
        "red: cs_1, black: cs_1",
        "feed-v",
        "measurements.feed-v.black",
        "both leads on the node 'feed_s'",
        "another point",
    ),
    Slip(", through: w_feed}", "}", "  current:", "measurements.current", "no 'through'", "Add 'through"),
    Slip(
        "through: w_feed}",
        "through: w_fead}",
        "w_fead",
        "measurements.current.through",
        "unknown part 'w_fead'",
        "Write 'w_feed'",
    ),
    Slip(
        "black: bat_neg, limit: {low",
        "black: bat_neg, through: bead, limit: {low",
        "through: bead",
        "measurements.feed-v.through",
        "'through' on volts_dc",
        "Remove it",
    ),
    Slip(
        "{low: 12.0, high: 13.0}",
        "{low: 13.0, high: 12.0}",
        "low: 13.0",
        "measurements.feed-v.limit",
        "low 13 above high 12",
        "Exchange",
    ),
    Slip(
        "{low: 12.0, high: 13.0}",
        "{source: x}",
        "source: x",
        "measurements.feed-v.limit",
        "without low, high or open",
        "Add it",
    ),
    Slip(
        "{low: 12.0, high: 13.0}",
        "{open: true}",
        "open: true",
        "measurements.feed-v.limit.open",
        "'open' on volts_dc",
        "low and high",
    ),
    Slip(
        "return-ohms: {setup: key_off, function: ohms, red: cs_2",
        "return-ohms: {setup: key_on, function: ohms, red: cs_1",
        "return-ohms",
        "measurements.return-ohms.setup",
        "the key is on and 'battery' drives",
        "key off",
    ),
)

SUSPECT_SLIPS = (
    Slip(
        "    unit: sensor\n",
        "    unit: senser\n",
        "senser",
        "parts.bead.unit",
        "unknown unit 'senser'",
        "Write 'sensor'",
    ),
    Slip("    unit: sensor\n", "", "  bead:", "parts.bead", "no repair for its faults", "healthy: true"),
    Slip(
        "repair: switch",
        "repair: swich",
        "swich",
        "parts.key_switch.repair",
        "unknown repair 'swich'",
        "Write 'switch'",
    ),
    Slip(
        "repair: loom}", "repair: lom}", "lom}", "bridges.feed_to_return.repair", "unknown repair 'lom'", "Write 'loom'"
    ),
    Slip(
        "    colour: [BN]\n",
        "    colour: [BN]\n    repair: w_return\n",
        "repair: w_return",
        "parts.w_return.repair",
        "w_return -> w_return",
        "Name a repair",
    ),
    Slip(
        "repairs:\n",
        "repairs:\n  w_feed: {title: X, minutes: 1}\n",
        "  w_feed:\n    kind",
        "parts.w_feed",
        "'w_feed' is also one of the repairs",
        "Rename",
    ),
    Slip(
        "repairs:\n",
        "repairs:\n  none-of-these: {title: X, minutes: 1}\n",
        "  none-of-these",
        "repairs.none-of-these",
        "always exists",
        "Rename",
    ),
    Slip(
        "  feed_to_return:",
        "  feed.return:",
        "  feed.return",
        "bridges.feed.return",
        "the name 'feed.return'",
        "Rename it",
    ),
)

WORK_SLIPS = (
    Slip(
        "access: [cover]}\nparts",
        "access: [covr]}\nparts",
        "[covr]",
        "connectors.CS.access, item 1",
        "unknown access operation 'covr'",
        "Write 'cover'",
    ),
    Slip(
        "parts: 30, access: [cover]",
        "parts: 30, access: [cower]",
        "[cower]",
        "units.sensor.repair.access, item 1",
        "unknown access operation 'cower'",
        "Write 'cover'",
    ),
    Slip(
        "requires: [seat]",
        "requires: [set]",
        "[set]",
        "access.cover.requires, item 1",
        "unknown access operation 'set'",
        "Write 'seat'",
    ),
    Slip(
        "seat out, minutes: 3",
        "seat out, minutes: 3, requires: [cover]",
        "  cover:",
        "access.cover.requires",
        "cover -> seat -> cover",
        "such as 'seat' of 'cover'",
    ),
    Slip(
        "cautions: [battery-first]",
        "cautions: [batery-first]",
        "batery",
        "repairs.loom.cautions, item 1",
        "unknown caution",
        "Write 'battery-first'",
    ),
)

EVIDENCE_SLIPS = (
    Slip(
        "Feed is there, setup: key_on",
        "Feed is there, setup: unpluged",
        "unpluged",
        "signals.fed.setup",
        "unknown set-up",
        "Write 'unplugged'",
    ),
    Slip(
        "checks: [{current: bead, at_least: 0.001}]",
        "checks: []",
        "  warm:",
        "signals.warm.checks",
        "no checks",
        "Add one",
    ),
    Slip(
        "current: bead,",
        "current: bed,",
        "bed,",
        "signals.warm.checks, item 1.current",
        "unknown part 'bed'",
        "Write 'bead'",
    ),
    Slip(
        "current: bead,",
        "current: bead, between: [feed, gnd],",
        "between: [feed, gnd]",
        "signals.warm.checks, item 1",
        "both or none",
        "Keep one",
    ),
    Slip(
        "current: bead, at_least: 0.001",
        "current: bead",
        "  warm:",
        "signals.warm.checks, item 1",
        "without a bound",
        "Add one of them",
    ),
    Slip(
        "at_least: 10, at_most: 14",
        "at_least: 14, at_most: 10",
        "at_least: 14",
        "signals.fed.checks, item 1",
        "14 above at_most 10",
        "Exchange",
    ),
    Slip(
        "between: [feed_s, gnd]",
        "between: [feed_z, gnd]",
        "feed_z",
        "signals.fed.checks, item 1.between, item 1",
        "unknown node 'feed_z'",
        "Write",
    ),
    Slip(
        "    setup: key_on\n    outcomes",
        "    setup: non\n    outcomes",
        "non",
        "behaviours.gauge.setup",
        "unknown set-up 'non'",
        "Write",
    ),
    Slip(
        "when: {warm: true}",
        "when: {worm: true}",
        "worm",
        "behaviours.gauge.outcomes.moves.when.worm",
        "unknown signal 'worm'",
        "Write 'warm'",
    ),
    Slip(
        "rests: {title: it rests}",
        "rests: {title: it rests, when: {warm: false}}",
        "rests:",
        "behaviours.gauge.outcomes.rests",
        "conditions on the last outcome",
        "Write 'when: {}'",
    ),
    Slip(
        "when: {warm: true}, good",
        "good",
        "moves:",
        "behaviours.gauge.outcomes.moves",
        "hides those after it",
        "Add 'when'",
    ),
    Slip(", good: true", "", "proof:", "proof", "none of whose outcomes is good", "good: true"),
    Slip("proof: gauge", "proof: gage", "proof: gage", "proof", "unknown behaviour 'gage'", "Write 'gauge'"),
    Slip(
        "    connector: CS\n    outcomes",
        "    connector: CT\n    outcomes",
        "CT",
        "looks.look-cs.connector",
        "unknown connector 'CT'",
        "Write",
    ),
    Slip(
        "    connector: CS\n    outcomes",
        "    setup: key_offf\n    outcomes",
        "offf",
        "looks.look-cs.setup",
        "unknown set-up 'key_offf'",
        "Write 'key_off'",
    ),
    Slip(
        "given: {t_*.resistive: {clean: 0.2, green: 0.8}}",
        "given: {t_*.resistive: {clean: 0.2, green: 0.7}}",
        "given:",
        "looks.look-cs.given.t_*.resistive",
        "sum to 0.9",
        "Correct",
    ),
    Slip(
        "otherwise: {clean: 0.95, green",
        "otherwise: {clean: 0.95, gren",
        "gren:",
        "looks.look-cs.otherwise.gren",
        "unknown outcome 'gren'",
        "Write 'green'",
    ),
    Slip("t_*.resistive", "x_*.resistive", "x_*", "looks.look-cs.given.x_*.resistive", "matches no fault", "Write"),
    Slip(
        "t_*.resistive",
        '"feed_to_return.short~"',
        "feed_to_return.short~",
        "looks.look-cs.given.feed_to_return.short~",
        "whose faults never come and go",
        "Remove the ~",
    ),
    Slip("t_*.resistive", '"x_*~"', "x_*~", "looks.look-cs.given.x_*~", "matches no fault", "Write"),
    Slip("cures: {t_feed.*", "cures: {tfeed.*", "tfeed.*", "trials.reseat.cures.tfeed.*", "matches no fault", "Write"),
    Slip(
        "behaviour: gauge}",
        "behaviour: gouge}",
        "gouge",
        "trials.reseat.behaviour",
        "unknown behaviour 'gouge'",
        "Write 'gauge'",
    ),
)

ALL_SLIPS = (
    *SCHEMA_SLIPS,
    *YAML_SLIPS,
    *PART_SLIPS,
    *NETWORK_SLIPS,
    *CONDITION_SLIPS,
    *PLACE_SLIPS,
    *MEASUREMENT_SLIPS,
    *SUSPECT_SLIPS,
    *WORK_SLIPS,
    *EVIDENCE_SLIPS,
)


def mistakes_in(text: str) -> tuple[Mistake, ...]:
    with pytest.raises(CircuitError) as caught:
        read_circuit(text, "small.yaml")
    return caught.value.mistakes


def test_the_small_circuit_itself_is_sound() -> None:
    assert read_circuit(SMALL).name == "small"


@pytest.mark.parametrize("slip", ALL_SLIPS, ids=str)
def test_a_slip_is_told_once_with_its_line_and_what_to_write(slip: Slip) -> None:
    assert SMALL.count(slip.old) == 1, "the slip must change one place"
    text = SMALL.replace(slip.old, slip.new)
    found = [m for m in mistakes_in(text) if m.place != "units_"]
    assert len(found) == 1, [str(m) for m in found]
    mistake = found[0]
    assert mistake.place == slip.place
    assert mistake.line == line_of(text, slip.at)
    assert slip.found in mistake.found
    assert slip.instead in mistake.instead
    assert mistake.expected


def test_all_mistakes_of_a_file_come_at_once_in_the_order_of_their_lines() -> None:
    slips = [SCHEMA_SLIPS[2], YAML_SLIPS[0], PART_SLIPS[0], PLACE_SLIPS[1], WORK_SLIPS[4], EVIDENCE_SLIPS[15]]
    text = SMALL
    for slip in slips:
        text = text.replace(slip.old, slip.new)
    found = mistakes_in(text)
    assert {m.place for m in found} == {slip.place for slip in slips}
    assert [m.line for m in found] == sorted(m.line for m in found)


def test_two_mistakes_of_one_entry_of_which_the_schema_sees_one_are_both_told() -> None:
    text = SMALL.replace("red: cs_1, black: bat_neg", "red: cs_1, black: bat_nag, minutes: long")
    places = {m.place for m in mistakes_in(text)}
    assert places == {"measurements.feed-v.minutes", "measurements.feed-v.black"}


def test_the_message_gives_file_line_place_found_expected_and_advice() -> None:
    text = SMALL.replace("kind: battery", "kind: batery")
    with pytest.raises(CircuitError) as caught:
        read_circuit(text, "small.yaml")
    line = line_of(text, "batery")
    assert f"small.yaml:line {line}, parts.battery.kind: unknown element kind 'batery'; expected" in str(caught.value)
    assert caught.value.exit_code == 2


@pytest.mark.parametrize(
    ("text", "line"),
    [("a: [1, 2\nb: 3\n", 2), ('a: "x\n', 2), ("a: b: c\n", 1), ("a:\n\t- b\n", 2), ("a: *nothing\n", 1), ("\x00", 1)],
)
def test_text_that_is_no_yaml_names_the_line(text: str, line: int) -> None:
    (mistake,) = mistakes_in(text)
    assert mistake.line == line
    assert mistake.expected == "a YAML document"


@pytest.mark.parametrize("text", ["", "5", "- a\n", "null", "~: ~"])
def test_a_file_that_is_no_mapping_or_an_empty_one_is_told(text: str) -> None:
    assert mistakes_in(text)


def test_a_number_may_be_written_with_an_exponent_and_a_cavity_without_quotes() -> None:
    text = SMALL.replace("value: 2500,", "value: 2.5e3,").replace('cavity: "2", side', "cavity: 2, side")
    circuit = read_circuit(text)
    assert circuit.points["pin_2"].cavity == "2"
    assert circuit.parts["bead"].values["resistance_25"] == read_circuit(SMALL).parts["bead"].values["resistance_25"]


def test_an_anchored_mapping_may_be_merged() -> None:
    text = SMALL.replace("values: {length: 2.0, area: 0.5}", "values: &run {length: 2.0, area: 0.5}").replace(
        "    faults: {resistive: {low: 0.5, high: 50}}", "    values: {<<: *run, length: 3.0}"
    )
    assert read_circuit(text).parts["w_return"].values == {"length": 3.0, "area": 0.5}


def test_anchors_that_unfold_without_end_are_refused() -> None:
    rows = ["a0: &a0 [1, 1, 1, 1, 1, 1, 1, 1, 1, 1]"]
    rows += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 9)]
    (mistake,) = mistakes_in("\n".join(rows))
    assert "unfold without end" in mistake.found
