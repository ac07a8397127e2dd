"""Cooling circuits simulated apart from the product: scipy's solve_ivp on heat balances written here from text books.

Every body with a heat mass is one state; what has none (the air at the vents) follows from its neighbours. A radiator
and a heater core are exchangers by effectiveness and transfer units, a pump's flow goes with the root of its pressure,
the valve's opening is the cubic that the element kind declares. Where a thermostat has a heater and a position sensor,
their wiring is ngspice's: first the heater's power, then the heat, then the slider where the valve has moved it.

Shared with the product: the circuit's schema, the declared values of the element kinds and their fault modes; neither
its solver nor its elements' equations.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from scipy.integrate import solve_ivp

from proveout.circuits.circuit_domains import circuit_domains
from proveout.circuits.schema import Check, Circuit, Part, Setup, Stage, Value
from proveout.instruments import Function, Meter, default_meter
from proveout.network.domains import ELECTRICAL
from proveout.network.elements import ELEMENTS
from reference.behaviours import signal
from reference.faulted import Drawn, Fault, PartNow, Situation, part_now
from reference.readings import open_voltage, reading
from reference.spice_netlist import SpiceNetlist, solve

__all__ = ["HeatVehicle", "Staged"]

THERMAL = {
    "surrounding_air", "combustion", "heat_mass", "heat_path", "cooling_fan", "radiator", "heater_core", "coolant_pump",
    "thermostat", "heated_thermostat", "coolant_sensor",
}  # fmt: skip
SINGLE = {Function.THERMOMETER, Function.INFRARED, Function.FITTED_TEMPERATURE, Function.FITTED_SHARE}


@dataclass(frozen=True)
class Staged(Situation):
    """A situation whose settings are given as they are, whatever the set-up says."""

    given: Mapping[str, str | float | bool] = field(default_factory=dict)

    @cached_property
    def settings(self) -> dict[str, str | float | bool]:
        return dict(self.given)


def effectiveness(units: float, ratio: float) -> float:
    """Crossflow, both sides unmixed (Incropera and DeWitt, equation 11.32)."""
    if units <= 0.0:
        return 0.0
    if ratio < 1e-9:
        return 1.0 - float(np.exp(-units))
    return 1.0 - float(np.exp(units**0.22 / ratio * (np.exp(-ratio * units**0.78) - 1.0)))


def valve(temperature: float, opens: float, span: float) -> float:
    """Opening of the wax: z^2 (3 - 2 z)."""
    z = min(max((temperature - opens) / span, 0.0), 1.0)
    return z * z * (3.0 - 2.0 * z)


class HeatVehicle:
    """One vehicle with its fault and its drawn values; set-ups are simulated when they are asked for."""

    def __init__(self, circuit: Circuit, faults: Sequence[Fault] = (), drawn: Drawn | None = None) -> None:
        self.circuit, self.faults, self.drawn = circuit, list(faults), dict(drawn or {})
        self.wired = ELECTRICAL in circuit_domains(circuit)
        self._found: dict[str, tuple[dict[str, float], dict[str, float]]] = {}
        self._plain: dict[str, Situation] = {}

    def temperatures(self, setup: str) -> dict[str, float]:
        """Return the temperature [°C] of every node, and `lift`, at the end of a set-up."""
        return self._at_end(setup)[0]

    def reading(self, name: str, meter: Meter | None = None, lead_offset: float = 0.0) -> float:
        """Return the ideal reading of a measurement."""
        measurement = self.circuit.measurements[name]
        if Function(measurement.function) in SINGLE:
            return self.temperatures(measurement.setup)[self.circuit.points[measurement.red].node]
        return reading(self._electrical(measurement.setup), name, meter or default_meter(), lead_offset)

    def opened(self) -> bool:
        """Tell whether a long drive from cold brings the engine to where its thermostat opens."""
        found = self.temperatures(next(s for s in ("warmed", "driven") if s in self.circuit.setups))
        return found["lift"] > 0.002

    def open_voltage(self, name: str) -> float:
        """Return what is between the leads of an ohms test without a meter."""
        return open_voltage(self._electrical(self.circuit.measurements[name].setup), name)

    def behaviour(self, name: str) -> str:
        """Return the outcome of a behaviour: the first whose signals all are as it says."""
        for outcome, described in self.circuit.behaviours[name].outcomes.items():
            if all(self.signal(s) is wanted for s, wanted in described.when.items()):
                return outcome
        raise ValueError(f"behaviour '{name}': no outcome fits")

    def signal(self, name: str) -> bool:
        """Tell whether all checks of a signal hold at the end of its set-up."""
        wanted = self.circuit.signals[name]
        if self.wired and not any(self._thermal(check) for check in wanted.checks):
            return signal(self._electrical(wanted.setup), name)
        return all(self._holds(check, wanted.setup) for check in wanted.checks)

    def _thermal(self, check: Check) -> bool:
        if check.between is None:
            return self.circuit.parts[check.current].kind in THERMAL - {"heated_thermostat"}
        return bool(set(check.between) & set(self.temperatures(self._some)) - {self.circuit.ground})

    @property
    def _some(self) -> str:
        return next(iter(self.circuit.setups))

    def _holds(self, check: Check, setup: str) -> bool:
        temperature, flow = self._at_end(setup)
        if check.between is None:
            value = flow[check.current]
        else:
            first, second = (temperature.get(node, 0.0) for node in check.between)
            value = first - second
        return (check.at_least is None or value >= check.at_least) and (check.at_most is None or value <= check.at_most)

    def _at_end(self, setup: str) -> tuple[dict[str, float], dict[str, float]]:
        if setup not in self._found:
            self._found[setup] = self._run(setup)
        return self._found[setup]

    def _run(self, setup: str) -> tuple[dict[str, float], dict[str, float]]:
        settings = dict(Situation(self.circuit, setup).settings)
        plant = self._plant(setup, settings)
        state = plant.soaked()
        for stage in _in_turn(self.circuit.setups[setup].sequence):
            settings = {**settings, **stage.set}
            plant = self._plant(setup, settings)
            state = plant.after(state, float(stage.seconds or 0.0))
        return plant.everything(state), plant.flows(state)

    def _plant(self, setup: str, settings: Mapping[str, str | float | bool]) -> _Plant:
        situation = Staged(self.circuit, setup, None, self.faults, self.drawn, given=settings)
        parts = {name: part_now(situation, name) for name, part in self.circuit.parts.items() if part.kind in THERMAL}
        return _Plant(parts, self._power(setup, settings) if self.wired else 0.0)

    def _power(self, setup: str, settings: Mapping[str, str | float | bool]) -> float:
        """Return what the heater takes [W], from ngspice's current."""
        circuit = self._wiring(setup, settings, 0.0)
        situation = Situation(circuit, setup, None, self._electrical_faults(), self._electrical_drawn())
        point = solve(SpiceNetlist(situation, metered={"thermostat": 0.0}))
        nodes = circuit.parts["thermostat"].nodes
        return float(point.current["thermostat"] * point.between(nodes[0], nodes[1]))

    def _electrical(self, setup: str) -> Situation:
        """Return the wiring at the end of a set-up, the slider where the valve has moved it."""
        if setup not in self._plain:
            settings = dict(Situation(self.circuit, setup).settings)
            for stage in _in_turn(self.circuit.setups[setup].sequence):
                settings.update(stage.set)
            circuit = self._wiring(setup, settings, self.temperatures(setup)["lift"])
            self._plain[setup] = Situation(circuit, setup, None, self._electrical_faults(), self._electrical_drawn())
        return self._plain[setup]

    def _wiring(self, setup: str, settings: Mapping[str, str | float | bool], lift: float) -> Circuit:
        parts = {name: p for name, p in self.circuit.parts.items() if p.kind not in THERMAL | {"valve_position"}}
        for name, part in self.circuit.parts.items():
            if part.kind == "heated_thermostat":
                parts[name] = Part(
                    kind="heater", nodes=part.nodes[:2], unit=part.unit, values=self._kept(part, "heater")
                )
            if part.kind == "valve_position":
                slider = self._value(name, "shut") + self._value(name, "travel") * lift
                values = {**self._kept(part, "potentiometer"), "position": slider}
                parts[name] = Part(kind="potentiometer", nodes=part.nodes[:3], unit=part.unit, values=values)
        setups = {**self.circuit.setups, setup: _plain_setup(self.circuit.setups[setup], settings)}
        return self.circuit.model_copy(update={"parts": parts, "setups": setups})

    def _kept(self, part: Part, kind: str) -> dict[str, object]:
        return {name: value for name, value in part.values.items() if name in ELEMENTS[kind].parameters}

    def _value(self, part: str, parameter: str) -> float:
        given = self.circuit.parts[part].values[parameter]
        sound = given.value if isinstance(given, Value) else given
        return self.drawn.get((part, parameter), float(sound) if isinstance(sound, float | int) else 0.0)

    def _electrical_faults(self) -> list[Fault]:
        return [(part, mode.removeprefix("heater_"), value) for part, mode, value in self.faults if not _of_heat(mode)]

    def _electrical_drawn(self) -> dict[tuple[str, str], float]:
        skip = {"opens", "span", "leakage", "warms", "shut", "travel"}
        return {key: value for key, value in self.drawn.items() if key[1] not in skip}


def _of_heat(mode: str) -> bool:
    return mode in {"leaks", "opens_early", "opens_late", "stuck_shut", "heater_slack", "reads_low", "reads_high"}


def _plain_setup(setup: Setup, settings: Mapping[str, str | float | bool]) -> Setup:
    return setup.model_copy(update={"set": dict(settings), "sequence": []})


def _in_turn(stages: Sequence[Stage]) -> list[Stage]:
    found: list[Stage] = []
    for stage in stages:
        found += [stage] if not stage.stages else _in_turn(stage.stages) * stage.times
    return found


class _Plant:
    """The vehicle in one state: its heat balances. The state is the temperature of every body with a mass."""

    def __init__(self, parts: Mapping[str, PartNow], power: float) -> None:
        self.parts, self.power = parts, power
        self.mass = {p.nodes[0]: p.values["capacity"] for p in parts.values() if p.kind == "heat_mass"}
        self.air = {p.nodes[0]: p.values["temperature"] for p in parts.values() if p.kind == "surrounding_air"}
        self.bodies = list(self.mass)
        self.sensor = next((p for p in parts.values() if p.kind == "coolant_sensor"), None)
        pumps = [p.values for p in parts.values() if p.kind == "coolant_pump"]
        self.pressure = sum(v["rise"] * (v["speed"] / v["usual_speed"]) ** 2 for v in pumps)

    def soaked(self) -> np.ndarray:
        """Everything has the air's temperature: the engine has stood overnight."""
        air = next(iter(self.air.values()))
        return np.array([air] * (len(self.bodies) + 1))

    def after(self, state: np.ndarray, seconds: float) -> np.ndarray:
        """The last state is the coolant as the sensor feels it."""
        found = solve_ivp(self._slopes, (0.0, seconds), state, method="LSODA", rtol=1e-7, atol=1e-5, max_step=20.0)
        if not found.success:
            raise RuntimeError(f"no solution: {found.message}")
        return found.y[:, -1]

    def _slopes(self, _: float, state: np.ndarray) -> list[float]:
        t = self._temperatures(state)
        gain = dict.fromkeys(self.bodies, 0.0)
        for first, second, heat in (h for p in self.parts.values() for h in self._heat(p, t)):
            if first in gain:
                gain[first] -= heat
            if second in gain:
                gain[second] += heat
        slopes = [gain[body] / self.mass[body] for body in self.bodies]
        lag = self.sensor.values["lag"] if self.sensor else 1.0
        return [*slopes, ((t[self.sensor.nodes[1]] if self.sensor else state[-1]) - state[-1]) / lag]

    def _temperatures(self, state: np.ndarray) -> dict[str, float]:
        return {**dict(zip(self.bodies, state[:-1].tolist(), strict=True)), **self.air}

    def _heat(self, part: PartNow, t: Mapping[str, float]) -> list[tuple[str, str, float]]:
        """Heat [W] from a first to a second node."""
        v, n = part.values, part.nodes
        on = part.enabled if part.held is None else part.held
        match part.kind:
            case "combustion":
                return [(n[1], n[0], v["heat_air"] * v["air_flow"] + v["heat_turn"] * v["speed"])] if on else []
            case "heat_path":
                return [(n[0], n[1], v["conductance"] * (t[n[0]] - t[n[1]]))]
            case "cooling_fan":
                return [(n[0], n[1], v["conductance"] * (t[n[0]] - t[n[1]]))] if on else []
            case "radiator":
                stream = v["calm"] + v["wind"] * v["road_speed"]
                given = stream * effectiveness(v["transfer"] / stream, 0.0)
                return [(n[0], n[1], given * (t[n[0]] - t[n[1]]))]
            case "heater_core":
                return [(n[0], n[2], self._core(part) * (t[n[0]] - t[n[2]]))]
            case "thermostat" | "heated_thermostat":
                engine, hose, radiator = n[:3] if part.kind == "thermostat" else n[2:5]
                stream = self._through(part, t[engine])
                return [(engine, other, stream * (t[engine] - t[other])) for other in (hose, radiator)]
        return []

    def _core(self, part: PartNow) -> float:
        v = part.values
        water, blower = v["passage"] * np.sqrt(self.pressure) * v["heat"], v["blower"]
        least, most = min(water, blower), max(water, blower)
        if least <= 0.0:
            return 0.0
        return min(effectiveness(v["transfer"] / least, least / most) * least, 0.98 * blower)

    def _through(self, part: PartNow, engine: float) -> float:
        """Stream [W/K] through the valve."""
        v = part.values
        flow = v["passage"] * np.sqrt(self.pressure) if part.kind == "thermostat" else v["pump"] * v["speed"]
        share = v["leakage"] + (1.0 - v["leakage"]) * valve(engine, self._opens(part), v["span"])
        return float(flow * v["heat"] * share)

    def _opens(self, part: PartNow) -> float:
        warmer = part.values["warms"] * self.power if part.kind == "heated_thermostat" else 0.0
        return part.values["opens"] - warmer

    def everything(self, state: np.ndarray) -> dict[str, float]:
        t = self._temperatures(state)
        found = dict(t)
        for part in self.parts.values():
            v, n = part.values, part.nodes
            if part.kind == "heater_core":
                found[n[1]] = t[n[2]] + self._core(part) * (t[n[0]] - t[n[2]]) / v["blower"]
            if part.kind.endswith("thermostat"):
                first = 3 if part.kind == "thermostat" else 5
                marks = (v["opens"], v["opens"] + v["span"], 100.0 * v["leakage"])
                found.update(zip(n[first : first + 3], marks, strict=True))
                engine = t[n[0] if part.kind == "thermostat" else n[2]]
                found["lift"] = valve(engine, self._opens(part), v["span"])
        if self.sensor is not None:
            error = self.sensor.values["above"] - self.sensor.values["below"]
            found[self.sensor.nodes[0]] = float(state[-1]) + error
            found[self.sensor.nodes[2]] = found[self.sensor.nodes[3]] + error
        return found

    def flows(self, state: np.ndarray) -> dict[str, float]:
        t = self._temperatures(state)
        return {name: sum(heat for _, _, heat in self._heat(part, t)) for name, part in self.parts.items()}
