"""Vehicles with one fault each, drawn as often as the circuit's file says, whose every reading is ngspice's.

The product's solver has no part in what such a vehicle shows.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase

import numpy as np

from proveout.circuits import Circuit
from proveout.circuits.assemble import assemble, tolerances
from proveout.circuits.schema import Value
from proveout.diagnosis.faults import Fault, enumerate_faults
from proveout.instruments import Function, Meter, Reading, live
from reference import Situation, behaviour, reading
from reference.readings import open_voltage

__all__ = ["Case", "TruthVehicle", "draw_case"]

MOST_DRAWS = 10_000
LEAST_SHARE = 0.05  # of a value that a drawn tolerance leaves at least


@dataclass(frozen=True)
class Case:
    """A vehicle that came in: its fault, the parameter's value (None where a state is held), drawn tolerances.

    `complaints` are the outcomes of the complaint behaviours that are not those of a sound vehicle.
    """

    circuit: Circuit
    fault: Fault
    value: float | None
    drawn: Mapping[tuple[str, str], float]
    complaints: Mapping[str, str]

    def situation(self, faulty: bool = True) -> Situation:
        """Return the vehicle for the reference simulator, with its fault or sound."""
        faults = [(self.fault.part, self.fault.mode.name, self.value)] if faulty else []
        return Situation(self.circuit, next(iter(self.circuit.setups)), None, faults, self.drawn)


def draw_case(circuit: Circuit, rng: np.random.Generator, *, coming: bool = False) -> Case:
    """Draw a vehicle with one fault about which its owner complains; with `coming` one that may come and go.

    Fault modes by their relative frequency, severity evenly in logarithm, every tolerance as a Gaussian of which the
    limits are two standard deviations; drawn again until a complaint behaviour is not the good one.
    """
    faults = enumerate_faults(assemble(circuit))
    weights = np.array([fault.weight if fault.mode.intermittent or not coming else 0.0 for fault in faults])
    for _ in range(MOST_DRAWS):
        fault = faults[int(rng.choice(len(faults), p=weights / weights.sum()))]
        case = Case(circuit, fault, _severity(fault, rng), _tolerances(circuit, rng), {})
        complaints = _complaints(case.situation())
        if complaints:
            return Case(circuit, fault, case.value, case.drawn, complaints)
    raise RuntimeError(f"no fault of '{circuit.name}' leads to a complaint in {MOST_DRAWS} draws")


def _severity(fault: Fault, rng: np.random.Generator) -> float | None:
    mode = fault.mode
    if mode.forced is not None:
        return None
    if mode.low == mode.high:
        return mode.low
    return math.exp(rng.uniform(math.log(mode.low), math.log(mode.high)))


def _tolerances(circuit: Circuit, rng: np.random.Generator) -> dict[tuple[str, str], float]:
    """Return drawn values; for what the set-up drives, the deviation from what it says."""
    drawn = {}
    for part, parameter, deviation, relative in tolerances(assemble(circuit)):
        away = deviation * rng.standard_normal()
        given = circuit.parts[part].values[parameter]
        if relative and isinstance(given, Value):
            drawn[part, parameter] = given.value * max(1.0 + away, LEAST_SHARE)
        else:
            drawn[part, parameter] = away
    return drawn


def _complaints(situation: Situation) -> dict[str, str]:
    circuit = situation.circuit
    wanted = {name: b for name, b in circuit.behaviours.items() if b.kind == "complaint"}
    seen = {name: behaviour(situation, name) for name in wanted}
    return {name: outcome for name, outcome in seen.items() if not wanted[name].outcomes[outcome].good}


class TruthVehicle:
    """A vehicle on which readings are taken, things are looked at and tried, and repairs are done.

    A reading has the meter's error, anywhere within its accuracy limits, and an offset of the leads that stays the same
    for the whole case. What is seen slips as often as the circuit's file says. A trial may make the fault go away; if
    its cure does not last, or another part was then repaired, the fault is back once the vehicle has left.
    """

    def __init__(self, case: Case, meter: Meter, rng: np.random.Generator) -> None:
        self.case = case
        self.meter = meter
        self.rng = rng
        self.quiet = False
        self.mended = False
        self.lead_offset = meter.lead_offset + meter.lead_uncertainty * float(rng.standard_normal())

    @property
    def situation(self) -> Situation:
        """The vehicle as it is now."""
        return self.case.situation(faulty=not (self.quiet or self.mended))

    def measure(self, name: str) -> Reading:
        """Take a measurement of the circuit's file; ohms on a live place are not read."""
        function = Function(self.case.circuit.measurements[name].function)
        if function.drives and live(open_voltage(self.situation, name)):
            return Reading.unread(function.unit)
        return self.shown(function, reading(self.situation, name, self.meter, self.lead_offset))

    def shown(self, function: Function, true: float) -> Reading:
        """Return what the instrument shows of an ideal reading."""
        if not math.isfinite(true):
            return Reading.over(function.unit)
        capability = self.meter.capability(function)
        resolution, fraction, counts, _ = capability.select(true)
        error = self.rng.uniform(-1.0, 1.0) * (abs(true) * fraction + counts * resolution)
        return self.meter.read(function, max(float(true + error), capability.least))

    def watch(self, name: str) -> str:
        """Return the outcome of a behaviour as it is noted."""
        described = self.case.circuit.behaviours[name]
        if self.rng.uniform() < described.slip:
            return str(self.rng.choice(list(described.outcomes)))
        return behaviour(self.situation, name)

    def look(self, name: str) -> str:
        """Return what is seen, by the tabulated probabilities."""
        look = self.case.circuit.looks[name]
        fitting = [entry for pattern, entry in look.given.items() if self._fits(pattern)]
        chances = fitting[0] if fitting else look.otherwise
        outcomes = list(look.outcomes)
        weights = np.array([chances.get(outcome, 0.0) for outcome in outcomes])
        return outcomes[int(self.rng.choice(len(outcomes), p=weights / weights.sum()))]

    def attempt(self, name: str) -> str:
        """Carry out a trial; return `cured` or `same`."""
        trial = self.case.circuit.trials[name]
        fitting = [chance for pattern, chance in trial.cures.items() if self._fits(pattern)]
        if self.rng.uniform() < (fitting[0] if fitting else 0.0):
            self.quiet = True
        return "cured" if self.quiet or self.mended else "same"

    def repair(self, suspect: str) -> bool:
        """Carry out the repair of a suspect, or of two joined by +; tell whether the proof shows a sound vehicle."""
        self.mended = self.mended or self.case.fault.suspect in suspect.split("+")
        return self.mended or self.quiet

    def come_back(self) -> None:
        """Let time pass: what a trial made go away is there again."""
        self.quiet = False

    def _fits(self, pattern: str) -> bool:
        return fnmatchcase(self.case.fault.reference, pattern)
