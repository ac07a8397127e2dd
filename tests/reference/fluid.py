"""Brake boosters simulated apart from the product: scipy's solve_ivp on equations written here from the text books.

Gas flow is the ellipse of ISO 6358-1 (from memory) on absolute pressures, a vessel holds m = p V / (R T), a liquid
flows by Bernoulli, an accumulator's gas follows p V^n = const. Every node but the brake line has a state. Voltages are
those of a nodal matrix of resistors. Shared with the product: the circuit's schema, the declared values of the element
kinds and their fault modes; neither its solver nor its elements' equations.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from scipy.integrate import solve_ivp

from proveout.circuits.schema import Check, Circuit, Stage
from proveout.instruments import Function, Meter, default_meter
from reference.faulted import Drawn, Fault, PartNow, Situation, part_now

__all__ = ["FluidVehicle", "Moment"]

R_AIR = 287.05
AIR = 101325.0
MOST_ASKED = 40_000  # evaluations of the rates from which an integrator is given up
FOREVER = 3.0e6  # seconds after which everything has settled


@dataclass(frozen=True)
class Staged(Situation):
    """A situation whose settings are given as they are, whatever the set-up says."""

    given: Mapping[str, str | float | bool] = field(default_factory=dict)

    @cached_property
    def settings(self) -> dict[str, str | float | bool]:
        """Return the settings given."""
        return dict(self.given)


@dataclass(frozen=True)
class Moment:
    """Gauge pressures and voltages by node, currents (flows) by part, at the end of a stage."""

    effort: Mapping[str, float]
    flow: Mapping[str, float]
    ends_repetition: bool
    plant: _Plant
    pressure: Mapping[str, float]

    def loaded(self, red: str, black: str, resistance: float) -> float:
        """Return what a voltmeter of this resistance shows."""
        return self.plant.loaded(self.pressure, red, black, resistance)

    def between(self, first: str, second: str) -> float:
        """Return the effort of the first node over the second."""
        return self.effort[first] - self.effort[second]


def choked_factor(area_mm2: float, celsius: float) -> float:
    """Return mass flow over upstream pressure of a choked hole: A / sqrt(T) x 0.040418 (gas-dynamics tables)."""
    return 0.0404184 * area_mm2 * 1e-6 / np.sqrt(celsius + 273.15)


def gas(up: float, down: float, factor: float, critical: float) -> float:
    """Return the mass flow between two absolute pressures, signed."""
    if up < down:
        return -gas(down, up, factor, critical)
    ratio = down / up
    if ratio <= critical:
        return factor * up
    x = (ratio - critical) / (1.0 - critical)
    near = 1.0 - 5e-4
    if x > near:
        return factor * up * np.sqrt(1.0 - near**2) * (1.0 - x) / (1.0 - near)
    return factor * up * np.sqrt(1.0 - x * x)


def liquid(difference: float, area_mm2: float, density: float) -> float:
    """Return the volume flow through a hole: A sqrt(2 dp / rho), signed, straight below 500 Pa."""
    size = abs(difference)
    root = np.sqrt(size) if size > 500.0 else size / np.sqrt(500.0)
    return float(np.sign(difference)) * area_mm2 * 1e-6 * np.sqrt(2.0 / density) * root


class _StuckError(Exception):
    """The integrator makes no headway."""


class FluidVehicle:
    """One vehicle with its fault and its drawn values; set-ups are simulated when they are asked for."""

    def __init__(self, circuit: Circuit, faults: Sequence[Fault], drawn: Drawn) -> None:
        self.circuit, self.faults, self.drawn = circuit, list(faults), drawn
        self._moments: dict[str, list[Moment]] = {}

    def moments(self, setup: str) -> list[Moment]:
        """Return the settled state and the end of every stage of a set-up."""
        if setup not in self._moments:
            self._moments[setup] = self._run(setup)
        return self._moments[setup]

    def holds(self, check: Check, setup: str) -> bool:
        """Tell whether a signal's check holds at the end of a set-up."""
        last = self.moments(setup)[-1]
        value = last.flow[check.current] if check.between is None else last.between(*check.between)
        above = check.at_least is None or value >= check.at_least
        return above and (check.at_most is None or value <= check.at_most)

    def reading(self, name: str, meter: Meter | None = None, lead_offset: float = 0.0) -> float:
        """Return what an ideal instrument shows, in its SI unit; there are no ohms tests on these circuits."""
        measurement = self.circuit.measurements[name]
        function = Function(measurement.function)
        moments = self.moments(measurement.setup)
        last = moments[-1]
        if measurement.through:
            return last.flow[measurement.through]
        red = self.circuit.points[measurement.red].node
        if function.single:
            return -last.effort[red] if function.kind == "vacuum" else last.effort[red]
        black = self.circuit.points[measurement.black].node
        if function.kind == "count":
            good = [m.between(red, black) >= (measurement.at_least or 0.0) for m in moments if m.ends_repetition]
            return float(good.index(False) if False in good else len(good))
        resistance = (meter or default_meter()).input_resistance(function)
        return last.loaded(red, black, resistance)

    def open_voltage(self, name: str) -> float:
        """Return the voltage between the points of a measurement without a meter."""
        raise NotImplementedError("no ohms test is done on these circuits")

    def opened(self) -> bool:
        """Tell whether a thermostat opened: there is none."""
        return False

    def behaviour(self, name: str) -> str:
        """Return the outcome of a behaviour: the first whose signals all are as it says."""
        for outcome, described in self.circuit.behaviours[name].outcomes.items():
            signals = {signal: self.circuit.signals[signal] for signal in described.when}
            so = {s: all(self.holds(check, signal.setup) for check in signal.checks) for s, signal in signals.items()}
            if all(so[s] is wanted for s, wanted in described.when.items()):
                return outcome
        raise ValueError(f"behaviour '{name}': no outcome fits")

    def _run(self, setup: str) -> list[Moment]:
        base = Situation(self.circuit, setup, None, self.faults, self.drawn)
        settings = base.settings
        plant = _Plant(self.circuit, self._parts(setup, settings))
        state = plant.settled()
        found = [plant.moment(state, False)]
        for stage, ends in _in_turn(self.circuit.setups[setup].sequence, False):
            settings = {**settings, **stage.set}
            plant = _Plant(self.circuit, self._parts(setup, settings))
            state = plant.after(state, float(stage.seconds or 0.0))
            found.append(plant.moment(state, ends))
        return found

    def _parts(self, setup: str, settings: Mapping[str, str | float | bool]) -> dict[str, PartNow]:
        situation = Staged(self.circuit, setup, None, self.faults, self.drawn, given=settings)
        return {name: part_now(situation, name) for name in self.circuit.parts}


def _in_turn(stages: Sequence[Stage], repeated: bool) -> list[tuple[Stage, bool]]:
    found: list[tuple[Stage, bool]] = []
    for k, stage in enumerate(stages):
        if stage.stages:
            for _ in range(stage.times):
                found += _in_turn(stage.stages, True)
        else:
            found.append((stage, repeated and k == len(stages) - 1))
    return found


class _Plant:
    """The vehicle in one state: its differential equations. The state is what every storing node holds."""

    def __init__(self, circuit: Circuit, parts: Mapping[str, PartNow]) -> None:
        self.ground = circuit.ground
        self.parts = {name: part for name, part in parts.items() if part.present}
        self.every = parts
        self.volts = _voltages(self.ground, self.parts, {})
        self.running = {n: self._turns(p) for n, p in self.parts.items() if p.kind == "vacuum_pump"}
        self.stores = {
            p.nodes[0]: p for p in self.parts.values() if p.kind in ("vessel", "liquid_vessel", "accumulator")
        }
        self.nodes = list(self.stores)

    def _turns(self, part: PartNow) -> bool:
        across = self.volts[part.nodes[0]] - self.volts[part.nodes[1]]
        return _pump_turns(part, across)

    def on(self, part: PartNow) -> bool:
        return part.enabled if part.held is None else part.held

    def settled(self) -> np.ndarray:
        start = np.array([self._held(part, 0.0) for part in self.stores.values()])
        return self.after(start, FOREVER)

    def after(self, state: np.ndarray, seconds: float) -> np.ndarray:
        scale = np.array([abs(self._held(part, 1e4)) for part in self.stores.values()])
        # LSODA is the quickest on the gas, and at times finds no way through the roots at equal pressures; BDF does.
        liquids = any(part.kind == "accumulator" for part in self.stores.values())
        for method in ("BDF",) if liquids else ("LSODA", "BDF"):
            try:
                return self._integrated(state / scale, scale, seconds, method) * scale
            except _StuckError:
                continue
        raise RuntimeError(f"no solution over {seconds} s")

    def _integrated(self, start: np.ndarray, scale: np.ndarray, seconds: float, method: str) -> np.ndarray:
        asked = 0

        def rates(_: float, y: np.ndarray) -> np.ndarray:
            nonlocal asked
            asked += 1
            if asked > MOST_ASKED:
                raise _StuckError
            return self._rates(y * scale) / scale

        found = solve_ivp(rates, (0.0, seconds), start, method=method, rtol=1e-6, atol=1e-9)
        if not found.success:
            raise _StuckError
        return np.asarray(found.y[:, -1])

    def _held(self, part: PartNow, gauge: float) -> float:
        """Return the state at a gauge pressure: the mass in a vessel, of a liquid the pressure itself."""
        v = part.values
        if part.kind == "vessel":
            return (gauge + AIR) * v["volume"] / (R_AIR * (v["temperature"] + 273.15))
        return gauge

    def _pressure(self, part: PartNow, held: float) -> float:
        v = part.values
        if part.kind == "vessel":
            return held * R_AIR * (v["temperature"] + 273.15) / v["volume"] - AIR
        return held

    def _capacity(self, part: PartNow, gauge: float) -> float:
        """Return how much more goes in for each unit of the state."""
        v = part.values
        if part.kind == "vessel":
            return 1.0
        if part.kind == "liquid_vessel" or gauge <= v["charge"]:
            return v["elasticity"]
        full, charge = gauge + AIR, v["charge"] + AIR
        return v["elasticity"] + v["volume"] / v["exponent"] * (charge / full) ** (1.0 / v["exponent"]) / full

    def pressures(self, state: np.ndarray) -> dict[str, float]:
        found = {node: self._pressure(part, y) for (node, part), y in zip(self.stores.items(), state, strict=True)}
        found[self.ground] = 0.0
        for part in self.parts.values():
            if part.kind.endswith("booster_output"):
                found[part.nodes[0]] = _brake_pressure(part, found[part.nodes[2]] - found[part.nodes[3]])
        return found

    def _rates(self, state: np.ndarray) -> np.ndarray:
        pressure = self.pressures(state)
        rate = dict.fromkeys(self.nodes, 0.0)
        for name, part in self.parts.items():
            for first, second, flow in self._flows(name, part, pressure):
                if first in rate:
                    rate[first] -= flow
                if second in rate:
                    rate[second] += flow
        capacity = {node: self._capacity(part, pressure[node]) for node, part in self.stores.items()}
        return np.array([rate[node] / capacity[node] for node in self.nodes])

    def _flows(self, name: str, part: PartNow, p: Mapping[str, float]) -> list[tuple[str, str, float]]:
        v, n, on = part.values, part.nodes, self.on(part)

        def hole(first: str, second: str, area: float) -> tuple[str, str, float]:
            factor = choked_factor(area, v["temperature"])
            return first, second, gas(max(p[first] + AIR, 1.0), max(p[second] + AIR, 1.0), factor, v["critical"])

        def gap(first: str, second: str, area: float) -> tuple[str, str, float]:
            return first, second, liquid(p[first] - p[second], area, v["density"])

        match part.kind:
            case "manifold":
                swallowed = 0.5 * v["speed"] / 60.0 * v["displacement"] * v["filling"]
                rate = swallowed / (R_AIR * (v["temperature"] + 273.15))
                closed = v["idle_pressure"] * (v["idle_speed"] / v["speed"]) ** 0.35
                inside = min(closed + v["load"] * (AIR - closed), AIR) if on else AIR
                return [(n[0], n[1], rate * (p[n[0]] - (inside - AIR)))]
            case "hose":
                through = [hole(n[0], n[1], v["area"])] if on else []
                return [*through, hole(n[1], n[2], v["leak_area"])]
            case "restriction":
                return [hole(n[0], n[1], v["area"])] if on else []
            case "seal":
                return [hole(n[0], n[1], v["leak_area"])]
            case "check_valve":
                before = p[n[0]] - v["crack"]
                lift = min(max((before - p[n[1]]) / v["width"], 0.0), 1.0)
                ahead = 0.0
                if lift > 0.0:
                    factor = choked_factor(v["area"], v["temperature"])
                    ahead = lift * gas(before + AIR, p[n[1]] + AIR, factor, v["critical"])
                return [(n[0], n[1], ahead), hole(n[0], n[1], v["back_area"])]
            case "control_valve":
                rest, applied = ("rest_leak", "apply_area") if on else ("rest_area", "apply_leak")
                return [hole(n[0], n[1], v[rest]), hole(n[0], n[2], v[applied])]
            case "vacuum_pump":
                if not self.running[name]:
                    return []
                rate = v["displacement"] / (R_AIR * (v["temperature"] + 273.15))
                return [(n[2], n[3], rate * (p[n[2]] + AIR - v["best"] * AIR))]
            case "hydraulic_pump":
                ratio = (v["relief"] - p[n[0]]) / v["width"]
                return [(n[1], n[0], v["flow"] * float(np.tanh(ratio)))] if on else []
            case "pressure_line":
                through = [gap(n[0], n[1], v["area"])] if on else []
                return [*through, gap(n[1], n[2], v["leak_area"])]
            case "liquid_seal":
                return [gap(n[0], n[1], v["leak_area"])]
            case "liquid_check_valve":
                ahead = v["give"] * max(p[n[0]] - p[n[1]] - v["crack"], 0.0)
                return [(n[0], n[1], ahead), gap(n[0], n[1], v["back_area"])]
            case "spool_valve":
                rest, applied = ("rest_leak", "apply_area") if on else ("rest_area", "apply_leak")
                return [gap(n[0], n[1], v[rest]), gap(n[0], n[2], v[applied])]
        return []

    def moment(self, state: np.ndarray, ends: bool) -> Moment:
        pressure = self.pressures(state)
        volts = _voltages(self.ground, self.parts, pressure)
        flow = {}
        for name, part in self.every.items():
            through = self._flows(name, part, pressure) if name in self.parts else []
            first = part.nodes[0]
            flow[name] = sum(f if a == first else -f for a, b, f in through if first in (a, b))
        flow.update(_currents(self.parts, volts))
        return Moment({**volts, **pressure}, flow, ends, self, pressure)

    def loaded(self, pressure: Mapping[str, float], red: str, black: str, resistance: float) -> float:
        """Return what a voltmeter of this resistance shows."""
        volts = _voltages(self.ground, self.parts, pressure, (red, black, resistance))
        return volts[red] - volts[black]


def _brake_pressure(part: PartNow, difference: float) -> float:
    """Return the line pressure: the force balance of pedal, booster and master cylinder."""
    v = part.values
    push = v["pedal_force"] * v["pedal_ratio"]
    assist = min((v["boost"] - 1.0) * push, v["efficiency"] * v["piston_area"] * max(difference, 0.0))
    return (push + assist) / v["bore_area"]


COPPER = 0.017241  # ohm mm2 / m
LEAK = 1e-9  # siemens from every node to the reference


def _resistors(name: str, part: PartNow, on: bool, pressure: Mapping[str, float]) -> list[tuple[str, str, float]]:
    v, n = part.values, part.nodes

    def one(first: str, second: str, ohm: float) -> list[tuple[str, str, float]]:
        return [(first, second, 0.0 if np.isinf(ohm) else 1.0 / ohm)]

    match part.kind:
        case "battery":
            return one(n[0], n[1], v["resistance"])
        case "fuse" | "terminal" | "resistor" | "heater":
            return one(n[0], n[1], v["resistance"])
        case "wire":
            return one(n[0], n[1], COPPER * v["length"] / v["area"] + v.get("extra", 0.0))
        case "switch":
            return one(n[0], n[1], v["resistance"] if on else v["open_resistance"])
        case "relay":
            contact = one(n[2], n[3], v["contact_resistance"]) if on else []
            return [*one(n[0], n[1], v["lead"] + v["coil_resistance"]), *contact]
        case "vacuum_pump":
            return one(n[0], n[1], (v["running_resistance"] if on else v["stalled_resistance"]) + v["extra"])
        case "regulator":
            return [*(one(n[0], n[1], v["resistance"]) if on else []), *one(n[0], n[1], v["bleed"])]
        case "vacuum_sensor":
            vacuum = -pressure.get(n[4], 0.0)
            share = v["offset"] + (1.0 - 2.0 * v["offset"]) * v["gain"] * vacuum / v["span"]
            share = min(max(share, 0.02), 0.98)
            track, tap = v["resistance"], f"{name} tap"
            upper, lower = one(n[0], tap, (1.0 - share) * track), one(tap, n[2], share * track)
            return [*upper, *lower, *one(tap, n[1], v["output"])]
    return []


ELECTRICAL = {"battery": 2, "fuse": 2, "terminal": 2, "resistor": 2, "heater": 2, "wire": 2, "switch": 2, "relay": 4}
ELECTRICAL |= {"vacuum_pump": 2, "regulator": 3, "vacuum_sensor": 3}


def _pump_turns(part: PartNow, across: float) -> bool:
    v = part.values
    if part.held is not None:
        return part.held
    total = v["running_resistance"] + v["extra"]
    winding = 0.0 if np.isinf(total) else across * v["running_resistance"] / total
    return part.enabled and winding >= v["minimum"]


def _voltages(
    ground: str,
    parts: Mapping[str, PartNow],
    pressure: Mapping[str, float],
    meter: tuple[str, str, float] | None = None,
) -> dict[str, float]:
    """Solve the resistors, every gated part on at first, off where its voltage falls short."""
    wired = {name: part for name, part in parts.items() if part.kind in ELECTRICAL}
    on = {name: part.enabled if part.held is None else part.held for name, part in wired.items()}
    volts = {ground: 0.0}
    for _ in range(8):
        volts = _nodal(ground, wired, on, pressure, meter)
        wanted = {name: on[name] and _may_be_on(part, volts) for name, part in wired.items()}
        if wanted == on:
            break
        on = wanted
    return volts


def _may_be_on(part: PartNow, volts: Mapping[str, float]) -> bool:
    if part.held is not None:
        return part.held
    n, v = part.nodes, part.values
    match part.kind:
        case "relay":
            total = v["lead"] + v["coil_resistance"]
            coil = 0.0 if np.isinf(total) else (volts[n[0]] - volts[n[1]]) * v["coil_resistance"] / total
            return part.enabled and coil >= v["pull_in"]
        case "vacuum_pump":
            return _pump_turns(part, volts[n[0]] - volts[n[1]])
        case "regulator":
            return part.enabled and volts[n[2]] - volts[n[1]] >= v["minimum_feed"]
    return part.enabled


def _nodal(
    ground: str,
    wired: Mapping[str, PartNow],
    on: Mapping[str, bool],
    pressure: Mapping[str, float],
    meter: tuple[str, str, float] | None,
) -> dict[str, float]:
    branches = [b for name, part in wired.items() for b in _resistors(name, part, on[name], pressure)]
    ends = [node for part in wired.values() for node in part.nodes[: ELECTRICAL[part.kind]]]
    nodes = [n for n in dict.fromkeys([*(e for b in branches for e in b[:2]), *ends]) if n != ground]
    if meter is not None:
        branches.append((meter[0], meter[1], 1.0 / meter[2]))
    place = {node: k for k, node in enumerate(nodes)}
    matrix, source = LEAK * np.eye(len(nodes)), np.zeros(len(nodes))
    for first, second, g in branches:
        for a, b in ((first, second), (second, first)):
            if a in place:
                matrix[place[a], place[a]] += g
                if b in place:
                    matrix[place[a], place[b]] -= g
    for name, part in wired.items():
        v = part.values
        emf = v["emf"] if part.kind == "battery" else v["voltage"] if part.kind == "regulator" and on[name] else None
        if emf is not None and part.nodes[0] in place:
            source[place[part.nodes[0]]] += emf / v["resistance"]
    solved = np.linalg.solve(matrix, source) if nodes else np.empty(0)
    return {ground: 0.0, **{node: float(x) for node, x in zip(nodes, solved, strict=True)}}


def _currents(parts: Mapping[str, PartNow], volts: Mapping[str, float]) -> dict[str, float]:
    found = {}
    for name, part in parts.items():
        if part.kind in ("fuse", "terminal", "wire", "resistor"):
            (first, second, g), *_ = _resistors(name, part, True, {})
            found[name] = g * (volts[first] - volts[second])
    return found
