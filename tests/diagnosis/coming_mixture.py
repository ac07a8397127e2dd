"""The posterior of a fault that comes and goes, by hand: two terminals in series with a load, drawn by brute force.

Nothing of the product's network, predictions or belief has a part in it; the meter's accuracy and the broad density of
a slip are its. Voltage over the load by Kirchhoff: emf x load / (load + contacts).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.diagnosis.evidence import ReadingTaken
from proveout.instruments import Function, Meter, Reading

__all__ = ["CIRCUIT", "SUSPECTS", "drawn_readings", "posterior", "taken"]

Array = npt.NDArray[np.float64]

EMF, LOAD, CONTACT, SOURCE = 12.0, 10.0, 0.005, 0.01
LEAST, MOST = 0.5, 1.0e5  # of a bad contact [ohm]
OPEN = 1.0e12
SLIP, COMES, AT_REST, WIGGLED = 0.01, 0.12, 0.3, 0.7
NO_FAULT, UNKNOWN = 0.3, 0.1  # relative to all faults together
SCATTER = 0.7  # of a good contact from vehicle to vehicle, the same at all its readings
OPEN_SHARE = 0.4  # of a terminal's faults, the rest resistive
SUSPECTS = ("t_feed", "t_ground", "no-fault-now", "none-of-these")
CIRCUIT = """\
schema: 1
name: two-contacts
title: Two contacts and a load, invented
ground: gnd
conditions: {key: {title: Key, default: "on", values: ["on"]}}
parts:
  battery: {kind: battery, nodes: [bat, gnd], healthy: true, values: {emf: 12.0, resistance: 0.01}}
  t_feed: {kind: terminal, nodes: [bat, feed], title: Feed terminal}
  load: {kind: resistor, nodes: [feed, back], healthy: true, values: {resistance: 10.0}}
  t_ground: {kind: terminal, nodes: [back, gnd], title: Ground terminal}
wire_repair: {title: Repair the wire, minutes: 25}
terminal_repair: {title: Renew the terminal, minutes: 15}
points:
  neg: {node: gnd, title: battery negative post}
  feed: {node: feed, title: feed of the load}
  back: {node: back, title: return of the load}
setups: {live: {title: Switched on}}
measurements:
  load_volts: {setup: live, function: volts_dc, red: feed, black: back}
  ground_drop: {setup: live, function: volts_dc, red: back, black: neg}
signals: {works: {title: it works, setup: live, checks: [{between: [feed, back], at_least: 11}]}}
behaviours:
  work:
    title: It works
    kind: complaint
    setup: live
    outcomes: {lit: {title: it does, when: {works: true}, good: true}, dead: {title: it does not}}
proof: work
"""


@dataclass(frozen=True)
class _Shown:
    """One reading as the mixture needs it: standard deviation, density of a slip, presence of what comes and goes."""

    name: str
    value: float
    spread: float
    slip: float
    presence: float


def posterior(meter: Meter, readings: Sequence[ReadingTaken], draws: int, rng: np.random.Generator) -> Array:
    """Return the probability of each of `SUSPECTS` after readings, from `draws` vehicles of each kind."""
    shown = [_shown(meter, taken) for taken in readings]
    bad = np.exp(rng.uniform(np.log(LEAST), np.log(MOST), draws))
    sound = CONTACT * (1.0 - SCATTER * rng.standard_normal((2, draws)))
    feed, ground = (_of_a_terminal(shown, at_ground, bad, sound) for at_ground in (False, True))
    good = float(np.prod([_density(s, _voltage(s.name, *sound)) for s in shown], axis=0).mean())
    unknown = float(np.prod([s.slip for s in shown]))
    found = np.array([0.5 * feed, 0.5 * ground, NO_FAULT * good, UNKNOWN * unknown])
    return found / found.sum()


def _of_a_terminal(shown: Sequence[_Shown], at_ground: bool, bad: Array, sound: Array) -> float:
    total = 0.0
    for share, contact in ((OPEN_SHARE, np.full_like(bad, OPEN)), (1.0 - OPEN_SHARE, bad)):
        steady, coming = np.ones(len(bad)), np.ones(len(bad))
        for s in shown:
            there = _voltage(s.name, sound[0], contact) if at_ground else _voltage(s.name, contact, sound[1])
            away = _voltage(s.name, *sound)
            steady *= _density(s, there)
            coming *= s.presence * _density(s, there) + (1.0 - s.presence) * _density(s, away)
        total += share * float((1.0 - COMES) * steady.mean() + COMES * coming.mean())
    return total


def _voltage(name: str, feed: Array | float, ground: Array | float) -> Array:
    over = LOAD if name == "load_volts" else ground
    return np.asarray(EMF * over / (SOURCE + feed + LOAD + ground))


def _density(shown: _Shown, value: Array) -> Array:
    away = (shown.value - value) / shown.spread
    return (1.0 - SLIP) * np.exp(-0.5 * away**2) / (shown.spread * np.sqrt(2.0 * np.pi)) + SLIP * shown.slip


def _shown(meter: Meter, taken: ReadingTaken) -> _Shown:
    value = float(taken.reading.value or 0.0)
    millivolts = 5.0e-3  # stray contact and thermal potentials: common practice
    spread = float(np.hypot(meter.standard_error(Function.VOLTS_DC, value, taken.reading.resolution), millivolts))
    slip = float(np.exp(meter.broad_log_density(Function.VOLTS_DC, taken.reading)))
    return _Shown(taken.measurement, value, spread, slip, WIGGLED if taken.disturbed else AT_REST)


def taken(meter: Meter, name: str, value: float, *, wiggled: bool = False) -> ReadingTaken:
    """Return a reading as the meter shows a voltage."""
    reading: Reading = meter.read(Function.VOLTS_DC, value)
    return ReadingTaken(name, reading, disturbed=wiggled)


def drawn_readings(meter: Meter, count: int, rng: np.random.Generator) -> list[ReadingTaken]:
    """Draw a vehicle with a contact that comes and goes, and what is read at it."""
    bad = OPEN if rng.uniform() < OPEN_SHARE else float(np.exp(rng.uniform(np.log(LEAST), np.log(MOST))))
    at_ground = rng.uniform() < 0.5
    found = []
    for _ in range(count):
        name, wiggled = str(rng.choice(["load_volts", "ground_drop"])), bool(rng.uniform() < 0.5)
        contact = bad if rng.uniform() < (WIGGLED if wiggled else AT_REST) else CONTACT
        true = float(_voltage(name, CONTACT, contact) if at_ground else _voltage(name, contact, CONTACT))
        error = float(meter.standard_error(Function.VOLTS_DC, true)) * rng.standard_normal()
        found.append(taken(meter, name, max(true + error, 0.0), wiggled=wiggled))
    return found
