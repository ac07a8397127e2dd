"""A circuit in one situation as an ngspice netlist, and its operating point with the gates settled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reference.faulted import PartNow, Situation, part_now
from reference.shared_ngspice import ACCURACY, Ngspice, ngspice
from reference.spice_elements import DEVICES, GATES, TAPPED, gate_share, resistor

__all__ = ["METER", "METER_EMF", "OperatingPoint", "Probe", "SpiceNetlist", "solve"]

METER = "rmeter"
METER_EMF = "vmeter"
FREE_ROUNDS = 5
MOST_ROUNDS = 20
NOTHING = 1.0e13  # holds the node behind an ammeter whose part is open [ohm]


@dataclass(frozen=True)
class Probe:
    """An instrument between two nodes: `emf` [V] behind `resistance` [ohm]; a voltmeter has no emf."""

    red: str
    black: str
    resistance: float
    emf: float = 0.0


@dataclass(frozen=True)
class OperatingPoint:
    """Node voltages [V]; currents [A] into the first terminal of the metered parts; which gated parts are on."""

    voltage: Mapping[str, float]
    current: Mapping[str, float]
    on: Mapping[str, bool]

    def between(self, first: str, second: str) -> float:
        """Return the voltage of the first node over the second [V]."""
        return self.voltage[first] - self.voltage[second]


class SpiceNetlist:
    """The netlist of one situation.

    Parameters
    ----------
    probe
        Meter between two nodes.
    metered
        Parts whose current into the first terminal is wanted; each value is the ammeter's burden [ohm].
    """

    def __init__(
        self, situation: Situation, probe: Probe | None = None, metered: Mapping[str, float] | None = None
    ) -> None:
        circuit = situation.circuit
        self.situation = situation
        self.probe = probe
        self.metered = dict(metered or {})
        self.parts: dict[str, PartNow] = {name: part_now(situation, name) for name in circuit.parts}
        self.nodes = {circuit.ground: "0"}
        touched = [n for part in self.parts.values() for n in part.nodes]
        touched += [n for bridge in circuit.bridges.values() for n in bridge.nodes]
        for node in touched:
            self.nodes.setdefault(node, f"n{len(self.nodes)}")

    def lines(self, on: Mapping[str, bool]) -> list[str]:
        """Return the netlist with the gated and switched parts on as given."""
        options = " ".join(f"{name}={value!r}" for name, value in ACCURACY.items())
        lines = ["circuit", f".options {options} temp=27 tnom=27"]
        for k, (name, part) in enumerate(self.parts.items()):
            if part.present:
                lines += self._part(f"p{k}", name, part, on[name])
        for k, (name, bridge) in enumerate(self.situation.circuit.bridges.items()):
            shorts = [
                v for part, mode, v in self.situation.faults if part == name and mode == "short" and v is not None
            ]
            a, b = (self.nodes[n] for n in bridge.nodes)
            lines += resistor(f"b{k}", a, b, shorts[-1] if shorts else bridge.insulation)
        lines += self._leakage() + self._meter()
        return [*lines, ".end"]

    def _part(self, short: str, name: str, part: PartNow, on: bool) -> list[str]:
        ends = [self.nodes[n] for n in part.nodes]
        lines: list[str] = []
        if name in self.metered:
            inner, burden = f"y{short}", self.metered[name]
            lines.append(f"va{short} {ends[0]} {inner if burden == 0 else inner + 's'} dc 0")
            lines += [f"ra{short} {inner}s {inner} {burden!r}"] if burden else []
            ends[0] = inner
        return lines + DEVICES[part.kind](short, ends, part.values, on)

    def _leakage(self) -> list[str]:
        leakage = self.situation.circuit.leakage
        here = [(f"p{k}", name, part) for k, (name, part) in enumerate(self.parts.items()) if part.present]
        taps = [f"x{short}" for short, _, part in here if part.kind in TAPPED]
        lines = [f"rleak{n} {n} 0 {leakage!r}" for n in [*self.nodes.values(), *taps] if n != "0"]
        return lines + [f"rleak{short} y{short} 0 {NOTHING!r}" for short, name, _ in here if name in self.metered]

    def _meter(self) -> list[str]:
        if self.probe is None:
            return []
        red, black = self.nodes[self.probe.red], self.nodes[self.probe.black]
        source = f"{METER_EMF} meter {black} dc {self.probe.emf!r}"
        return [source, f"{METER} {red} meter {self.probe.resistance!r}"]

    def start(self) -> dict[str, bool]:
        """Return every part's state before any gate is looked at: held by a fault, else as the set-up enables it."""
        return {name: part.enabled if part.held is None else part.held for name, part in self.parts.items()}

    def gated(self) -> list[str]:
        """Return the parts whose state hangs on a voltage."""
        return [n for n, part in self.parts.items() if part.kind in GATES and part.held is None and part.enabled]

    def wanted(self, voltage: Mapping[str, float], on: Mapping[str, bool], only_off: bool = False) -> dict[str, bool]:
        """Return the states that the gate voltages ask for; if `only_off`, what is off stays off."""
        found = dict(on)
        for name in self.gated():
            part = self.parts[name]
            first, second, least = GATES[part.kind]
            across = (voltage[part.nodes[first]] - voltage[part.nodes[second]]) * gate_share(part.kind, part.values)
            opens = part.present and across >= part.values[least]
            found[name] = opens and (on[name] or not only_off)
        return found

    def read(self, engine: Ngspice, on: Mapping[str, bool]) -> OperatingPoint:
        """Return what the last analysis found."""
        voltage = dict(zip(self.nodes, engine.scalars(self.nodes.values()), strict=True))
        current = {}
        for k, name in enumerate(self.parts):
            if name in self.metered:
                there = self.parts[name].present
                current[name] = engine.scalars([f"vap{k}#branch"])[0] if there else 0.0
        return OperatingPoint(voltage, current, {n: on[n] for n in self.parts})


def solve(netlist: SpiceNetlist) -> OperatingPoint:
    """Solve with every enabled gated part on, then again with those on that have their voltage, until all agree.

    What has not settled after `FREE_ROUNDS` chatters; from then on a part that goes off stays off. The circuit stays
    loaded in ngspice.
    """
    engine = ngspice()
    on = netlist.start()
    for turn in range(MOST_ROUNDS):
        engine.load(netlist.lines(on))
        engine.operating_point()
        point = netlist.read(engine, on)
        wanted = netlist.wanted(point.voltage, on, only_off=turn >= FREE_ROUNDS)
        if wanted == on:
            return point
        on = wanted
    raise RuntimeError(f"gates do not settle in set-up '{netlist.situation.setup}' after {MOST_ROUNDS} rounds")
