"""A fixed-order service chart carried out on a vehicle, to its end and then to a cure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from bench.vehicle import TruthVehicle
from proveout.circuits import Circuit, ServiceChart, access_closure
from proveout.circuits.schema import Limit
from proveout.diagnosis import Model
from proveout.diagnosis.faults import Suspect
from proveout.diagnosis.steps import Step, steps_of
from proveout.instruments import Reading

__all__ = ["ChartRun", "Clock", "follow", "repair_the_rest"]

MOST_STEPS = 200
KINDS = ("measurements", "looks", "behaviours", "trials")
STEP_KINDS = {"measurements": "measure", "looks": "look", "behaviours": "watch", "trials": "try"}


@dataclass
class Clock:
    """Minutes spent on a vehicle: access once, a set-up when it changes."""

    circuit: Circuit
    minutes: float = 0.0
    opened: set[str] = field(default_factory=set)
    setup: str | None = None

    def take(self, step: Step) -> None:
        """Add a test, look, behaviour or trial."""
        self._open(step.access)
        if step.setup and step.setup != self.setup:
            self.minutes += self.circuit.setups[step.setup].minutes
            self.setup = step.setup
        self.minutes += step.minutes

    def repair(self, suspect: Suspect) -> None:
        """Add a repair and its proof."""
        self._open(access_closure(self.circuit, suspect.repair.access))
        proof = self.circuit.behaviours[self.circuit.proof]
        self.minutes += suspect.repair.minutes + proof.minutes

    def _open(self, access: Sequence[str]) -> None:
        self.minutes += sum(self.circuit.access[a].minutes for a in access if a not in self.opened)
        self.opened.update(access)


@dataclass(frozen=True)
class ChartRun:
    """Whether the chart's own finding cured the vehicle, and the minutes to a cure."""

    found: bool
    minutes: float


def follow(chart: ServiceChart, model: Model, vehicle: TruthVehicle) -> ChartRun:
    """Carry out a chart; where it stops without a cure, repair the rest."""
    clock = Clock(model.circuit)
    finding = _finding(chart, vehicle, clock)
    if finding is not None:
        clock.repair(next(suspect for suspect in model.suspects if suspect.name == finding))
        vehicle.repair(finding)
    found = vehicle.mended
    repair_the_rest(model, vehicle, clock, [] if finding is None else [finding])
    return ChartRun(found, clock.minutes)


def repair_the_rest(model: Model, vehicle: TruthVehicle, clock: Clock, tried: Sequence[str]) -> None:
    """Repair one suspect after the other, by frequency over minutes, until the vehicle is sound for good."""
    vehicle.come_back()
    for suspect in _by_frequency_over_cost(model):
        if vehicle.mended:
            return
        if suspect.name not in tried:
            clock.repair(suspect)
            vehicle.repair(suspect.name)
    if not vehicle.mended:
        raise RuntimeError(f"no repair of '{model.circuit.name}' cures {vehicle.case.fault.reference}")


def _finding(chart: ServiceChart, vehicle: TruthVehicle, clock: Clock) -> str | None:
    steps = {(step.kind, step.name): step for step in steps_of(clock.circuit)}
    place = chart.first
    for _ in range(MOST_STEPS):
        step = chart.steps[place]
        group = next(kind for kind in KINDS if step.do in getattr(clock.circuit, kind))
        clock.take(next(found for key, found in steps.items() if key == (STEP_KINDS[group], step.do)))
        result = _result(vehicle, group, step.do, step.good)
        place = step.leads[result] if result in step.leads else step.leads["bad"]
        if place == "stop":
            return None
        if place.startswith("repair "):
            return place.removeprefix("repair ")
    raise RuntimeError(f"the chart of '{clock.circuit.name}' runs in a circle at step '{place}'")


def _result(vehicle: TruthVehicle, group: str, name: str, good: Limit | None) -> str:
    match group:
        case "measurements":
            limit = good or vehicle.case.circuit.measurements[name].limit
            return _judged(vehicle.measure(name), limit or Limit(open=False))
        case "looks":
            return vehicle.look(name)
        case "behaviours":
            return vehicle.watch(name)
        case _:
            return vehicle.attempt(name)


def _judged(reading: Reading, limit: Limit) -> str:
    """Return good, low, high, open or bad; a place too live for ohms is bad."""
    if reading.over_limit:
        return "good" if limit.open else "open"
    if reading.value is None or limit.open:
        return "bad"
    if reading.value < (-math.inf if limit.low is None else limit.low):
        return "low"
    return "high" if reading.value > (math.inf if limit.high is None else limit.high) else "good"


def _by_frequency_over_cost(model: Model) -> list[Suspect]:
    """Return the repairs in the order that is best without tests: frequency over minutes, descending."""
    weight = {suspect.name: 0.0 for suspect in model.suspects}
    for fault in model.faults:
        weight[fault.suspect] += fault.weight
    real = [suspect for suspect in model.suspects if weight[suspect.name] > 0]
    return sorted(real, key=lambda s: -weight[s.name] / (s.repair.minutes + 1.0))
