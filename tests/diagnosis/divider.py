"""A divider that can be worked out by hand: battery, pull-up, wire, terminal, sensor. Invented."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from proveout.circuits.loading import read_circuit
from proveout.diagnosis import Model, compile_model
from proveout.instruments import default_meter

__all__ = ["BATTERY", "MODES", "NO_FAULT", "TOLERANCES", "UNKNOWN", "Divider", "model", "vehicles"]

Values = npt.NDArray[np.float64]
BATTERY, INNER, PULL_UP, SENSOR = 12.0, 0.01, 1000.0, 1000.0
TOLERANCES = {"battery": 0.04, "pull_up": 0.06, "sensor": 0.10}
"""Limits as a share, two standard deviations."""
COPPER = 1.7241e-8  # ohm metre at 20 C, NBS Handbook 100
TERMINAL = 0.005
MODES = {
    "pull_up.high": (1.15, 50.0, 1.0),
    "pull_up.low": (0.02, 0.85, 1.0),
    "wire.resistive": (5.0, 1.0e5, 2.0),
    "terminal.resistive": (5.0, 1.0e5, 2.0),
    "sensor.high": (1.15, 50.0, 1.5),
    "sensor.low": (0.02, 0.85, 1.5),
}
"""Fault mode: least and greatest severity, relative frequency."""
NO_FAULT, UNKNOWN = 0.3, 0.1

_TEXT = """\
schema: 1
name: divider
title: Divider, invented
ground: gnd
leakage: 1.0e+12
conditions: {{key: {{title: Key, default: "on", values: ["off", "on"]}}}}
units:
  unit: {{title: Control unit, repair: {{title: Replace the control unit, minutes: 40, parts: 300}}}}
  sensor: {{title: Sensor, repair: {{title: Replace the sensor, minutes: 10, parts: 30}}}}
connectors: {{CS: {{title: Sensor connector}}}}
parts:
  battery:
    kind: battery
    nodes: [bat, gnd]
    healthy: true
    values: {{emf: {{value: 12.0, tol: {battery}}}, resistance: 0.01}}
  key: {{kind: switch, nodes: [bat, feed], healthy: true, when: {{key: ["on"]}}, values: {{resistance: 0.001}}}}
  pull_up:
    kind: resistor
    nodes: [feed, sig_e]
    unit: unit
    weight: 2.0
    values: {{resistance: {{value: 1000.0, tol: {pull_up}}}}}
    faults: {{open: {{weight: 0}}, high: {{weight: 1, low: 1.15, high: 50}}, low: {{weight: 1, low: 0.02, high: 0.85}}}}
  wire:
    kind: wire
    nodes: [sig_e, sig_s]
    weight: 2.0
    values: {{length: 2.0, area: 0.5}}
    faults: {{open: {{weight: 0}}, resistive: {{weight: 1, low: 5, high: 1.0e+5}}}}
  terminal:
    kind: terminal
    nodes: [sig_s, sens]
    connector: CS
    cavity: "1"
    weight: 2.0
    faults: {{open: {{weight: 0}}, resistive: {{weight: 1, low: 5, high: 1.0e+5, intermittent: false}}}}
  sensor:
    kind: resistor
    nodes: [sens, gnd]
    unit: sensor
    weight: 3.0
    values: {{resistance: {{value: 1000.0, tol: {sensor}}}}}
    faults: {{open: {{weight: 0}}, high: {{weight: 1, low: 1.15, high: 50}}, low: {{weight: 1, low: 0.02, high: 0.85}}}}
wire_repair: {{title: Repair the wire, minutes: 25}}
terminal_repair: {{title: Renew the terminal, minutes: 15}}
points:
  earth: {{node: gnd, title: battery negative post}}
  plus: {{node: feed, title: feed}}
  harness: {{node: sig_s, title: harness side, connector: CS, cavity: "1", side: harness}}
  pin: {{node: sens, title: sensor pin, connector: CS, cavity: "1", side: component}}
  unit: {{node: sig_e, title: at the unit}}
setups:
  running: {{title: Key on}}
  dead: {{title: Key off and CS unplugged, set: {{key: "off"}}, unplugged: [CS]}}
measurements:
  feed: {{setup: running, function: volts_dc, red: plus, black: earth}}
  at_unit: {{setup: running, function: volts_dc, red: unit, black: earth}}
  at_harness:
    {{setup: running, function: volts_dc, red: harness, black: earth, limit: {{low: 5.5, high: 6.5, source: invented}}}}
  at_pin: {{setup: running, function: volts_dc, red: pin, black: earth}}
  sensor_ohms: {{setup: dead, function: ohms, red: pin, black: earth}}
  current: {{setup: running, function: amps, through: pull_up}}
signals:
  in_range: {{title: In range, setup: running, checks: [{{between: [sig_e, gnd], at_least: 4.0, at_most: 8.0}}]}}
behaviours:
  gauge:
    title: The gauge
    kind: complaint
    setup: running
    outcomes: {{good: {{title: it reads well, when: {{in_range: true}}, good: true}}, odd: {{title: it reads odd}}}}
trials:
  reseat: {{title: Reseat CS, cures: {{"terminal.*": 0.5}}, behaviour: gauge, lasting: false}}
looks:
  look:
    title: Look into CS
    connector: CS
    outcomes: {{clean: clean, green: corroded}}
    given: {{"terminal.resistive": {{clean: 0.2, green: 0.8}}}}
    otherwise: {{clean: 0.95, green: 0.05}}
proof: gauge
no_fault_weight: 0.3
unknown_weight: 0.1
"""


@dataclass(frozen=True)
class Divider:
    """Vehicles with their resistances [ohm] and battery voltage [V], any shape: Ohm's law and nothing else."""

    battery: Values
    pull_up: Values
    line: Values
    terminal: Values
    sensor: Values

    @property
    def current(self) -> Values:
        return self.battery / (INNER + 0.001 + self.pull_up + self.line + self.terminal + self.sensor)

    def volts(self, place: str) -> Values:
        """Voltage to ground at a measurement's red point."""
        below = {
            "feed": self.pull_up + self.line + self.terminal + self.sensor,
            "at_unit": self.line + self.terminal + self.sensor,
            "at_harness": self.terminal + self.sensor,
            "at_pin": self.sensor,
        }
        return self.current * below[place]


def vehicles(fault: str, severity: Values, spread: tuple[Values, Values, Values]) -> Divider:
    """Vehicles with one fault (empty for none) of a severity, and standard deviates of battery, pull-up and sensor."""
    battery, pull_up, sensor = (
        value * (1.0 + 0.5 * TOLERANCES[name] * z)
        for (name, value), z in zip(
            {"battery": BATTERY, "pull_up": PULL_UP, "sensor": SENSOR}.items(), spread, strict=True
        )
    )
    line, terminal = np.full_like(severity, COPPER * 2.0 / 0.5e-6), np.full_like(severity, TERMINAL)
    part = fault.partition(".")[0]
    return Divider(
        battery,
        pull_up * severity if part == "pull_up" else pull_up,
        line + severity if part == "wire" else line,
        severity if part == "terminal" else terminal,
        sensor * severity if part == "sensor" else sensor,
    )


@lru_cache(maxsize=2)
def model(toleranced: bool = True) -> Model:
    """Return the compiled divider, with its tolerances or without any."""
    tolerances = TOLERANCES if toleranced else dict.fromkeys(TOLERANCES, 0.0)
    return compile_model(read_circuit(_TEXT.format(**tolerances), "divider.yaml"), default_meter())
