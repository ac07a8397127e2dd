"""A small invented circuit: a switched lamp-like load on two wires with one connector, and its service chart."""

from __future__ import annotations

__all__ = ["SMALL", "SMALL_CHART", "line_of"]

SMALL = """\
schema: 1
name: small
title: Small circuit, invented
ground: gnd
conditions:
  key: {title: Key, default: "off", values: ["off", "on"]}
  temperature: {title: Temperature, default: 20, unit: C}
units:
  sensor: {title: Sensor, repair: {title: Replace the sensor, minutes: 10, parts: 30, access: [cover]}}
connectors:
  CS: {title: Sensor connector, access: [cover]}
parts:
  battery:
    kind: battery
    nodes: [bat, gnd]
    healthy: true
    values: {emf: {value: 12.6, tol: 0.02, source: common practice}}
  key_switch:
    kind: switch
    nodes: [bat, feed]
    repair: switch
    when: {key: ["on"]}
  w_feed:
    kind: wire
    nodes: [feed, feed_s]
    title: Feed wire RD/WH
    colour: [RD, WH]
    values: {length: 2.0, area: 0.5}
  w_return:
    kind: wire
    nodes: [return_s, gnd]
    title: Return wire
    colour: [BN]
    faults: {resistive: {low: 0.5, high: 50}}
  t_feed: {kind: terminal, nodes: [feed_s, sens_feed], connector: CS, cavity: "1", title: 'Feed terminal, CS cavity 1'}
  t_return: {kind: terminal, nodes: [return_s, sens_return], connector: CS, cavity: "2"}
  bead:
    kind: thermistor
    nodes: [sens_feed, sens_return]
    unit: sensor
    values:
      temperature: {condition: temperature, scale: 1.0}
      resistance_25: {value: 2500, tol: 0.05, source: common practice}
bridges:
  feed_to_return: {nodes: [feed_s, return_s], title: Feed to return, repair: loom}
repairs:
  switch: {title: Replace the switch, minutes: 20}
  loom: {title: Repair the loom, minutes: 30, cautions: [battery-first]}
wire_repair: {title: Repair the wire, minutes: 25}
terminal_repair: {title: Renew the terminal, minutes: 15}
access:
  cover: {title: Take the cover off, minutes: 5, requires: [seat]}
  seat: {title: Take the seat out, minutes: 3}
points:
  bat_neg: {node: gnd, title: battery negative post}
  cs_1: {node: feed_s, title: CS cavity 1, connector: CS, cavity: "1", side: harness}
  cs_2: {node: return_s, title: CS cavity 2, connector: CS, cavity: "2", side: harness}
  pin_1: {node: sens_feed, title: sensor pin 1, connector: CS, cavity: "1", side: component}
  pin_2: {node: sens_return, title: sensor pin 2, connector: CS, cavity: "2", side: component}
setups:
  key_off: {title: Key off, set: {key: "off"}}
  key_on: {title: Key on, set: {key: "on"}}
  unplugged: {title: Key on and CS unplugged, set: {key: "on"}, unplugged: [CS]}
  halves:
    title: Half of the time on
    phases:
      - {set: {key: "on"}, share: 0.5}
      - {set: {key: "off"}, share: 0.5}
measurements:
  feed-v: {setup: key_on, function: volts_dc, red: cs_1, black: bat_neg, limit: {low: 12.0, high: 13.0}}
  sensor-ohms: {setup: unplugged, function: ohms, red: pin_1, black: pin_2, limit: {low: 2000, high: 4000}}
  return-ohms: {setup: key_off, function: ohms, red: cs_2, black: bat_neg, limit: {high: 1}}
  current: {setup: key_on, function: amps_clamp, through: w_feed}
signals:
  warm: {title: Current flows, setup: key_on, checks: [{current: bead, at_least: 0.001}]}
  fed: {title: Feed is there, setup: key_on, checks: [{between: [feed_s, gnd], at_least: 10, at_most: 14}]}
behaviours:
  gauge:
    title: The gauge moves
    kind: display
    setup: key_on
    outcomes:
      moves: {title: it moves, when: {warm: true}, good: true}
      rests: {title: it rests}
looks:
  look-cs:
    title: Look into CS
    connector: CS
    outcomes: {clean: clean, green: corroded}
    given: {t_*.resistive: {clean: 0.2, green: 0.8}}
    otherwise: {clean: 0.95, green: 0.05}
trials:
  reseat: {title: Reseat CS, cures: {t_feed.*: 0.5}, behaviour: gauge}
proof: gauge
"""

SMALL_CHART = """\
chart: 1
circuit: small
title: Fixed order, invented
source: invented
first: feed
steps:
  feed: {do: feed-v, leads: {good: sensor, low: look, bad: stop}}
  sensor: {do: sensor-ohms, leads: {good: 'repair w_return', bad: repair sensor}}
  look: {do: look-cs, leads: {clean: reseat, green: repair t_feed}}
  reseat: {do: reseat, leads: {cured: stop, same: 'repair w_feed'}}
"""


def line_of(text: str, fragment: str) -> int:
    """Return the line, counted from 1, on which `fragment` first stands."""
    return text[: text.index(fragment)].count("\n") + 1
