"""Vehicles of the circuits beyond wires, one fault each, whose every reading is an independent integrator's.

The product's solver has no part in what such a vehicle shows; see `bench.vehicle` for the wired ones.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np

from bench.vehicle import LEAST_SHARE, Case, TruthVehicle
from proveout.circuits import Circuit
from proveout.circuits.assemble import assemble, tolerances
from proveout.circuits.circuit_domains import circuit_domains
from proveout.circuits.schema import Value
from proveout.diagnosis.faults import Fault, enumerate_faults
from proveout.instruments import Function, Meter, Reading, describe, live
from proveout.network.domains import HYDRAULIC, PNEUMATIC, THERMAL
from reference.faulted import Drawn
from reference.faulted import Fault as SetFault
from reference.fluid import FluidVehicle
from reference.heat import HeatVehicle

__all__ = ["TRUTHS", "DomainVehicle", "Truth", "draw_domain_case", "truth_of"]

MOST_DRAWS = 2_000
FITS = {Function.FITTED_TEMPERATURE: 1.2, Function.FITTED_SHARE: 1.0}
"""Standard uncertainty of the fit of a drive, as measured beside the closed loop [K], [%]."""


class Truth(Protocol):
    """A simulated vehicle: the ideal reading of a measurement, the outcome of a behaviour."""

    def reading(self, name: str, meter: Meter | None = None, lead_offset: float = 0.0) -> float: ...

    def open_voltage(self, name: str) -> float: ...

    def behaviour(self, name: str) -> str: ...

    def opened(self) -> bool: ...


TRUTHS: dict[str, Callable[[Circuit, Sequence[SetFault], Drawn], Truth]] = {
    THERMAL: HeatVehicle,
    PNEUMATIC: FluidVehicle,
    HYDRAULIC: FluidVehicle,
}
"""Simulator by a domain that a circuit holds; a new domain is one line."""


def truth_of(circuit: Circuit, faults: Sequence[SetFault], drawn: Drawn) -> Truth:
    """Return the simulated vehicle of a circuit."""
    domain = next(d for d in TRUTHS if d in circuit_domains(circuit))
    return TRUTHS[domain](circuit, faults, drawn)


@dataclass(frozen=True)
class DomainCase(Case):
    """A case whose vehicle is simulated once with its fault and once sound."""

    made: dict[bool, Truth] = field(default_factory=dict)

    def truth(self, faulty: bool) -> Truth:
        if faulty not in self.made:
            faults = [(self.fault.part, self.fault.mode.name, self.value)] if faulty else []
            self.made[faulty] = truth_of(self.circuit, faults, self.drawn)
        return self.made[faulty]


def draw_domain_case(circuit: Circuit, rng: np.random.Generator) -> DomainCase:
    """Draw a vehicle with one fault about which its owner complains, as `bench.vehicle.draw_case` does."""
    faults = enumerate_faults(assemble(circuit))
    weights = np.array([fault.weight for fault in faults])
    for _ in range(MOST_DRAWS):
        fault = faults[int(rng.choice(len(faults), p=weights / weights.sum()))]
        case = DomainCase(circuit, fault, _severity(fault, rng), _drawn(circuit, rng), {})
        truth = case.truth(True)
        wanted = {name: b for name, b in circuit.behaviours.items() if b.kind == "complaint"}
        seen = {name: truth.behaviour(name) for name in wanted}
        complaints = {name: outcome for name, outcome in seen.items() if not wanted[name].outcomes[outcome].good}
        if complaints:
            return replace(case, complaints=complaints)
    raise RuntimeError(f"no fault of '{circuit.name}' leads to a complaint in {MOST_DRAWS} draws")


def _severity(fault: Fault, rng: np.random.Generator) -> float | None:
    mode = fault.mode
    if mode.forced is not None:
        return None
    return mode.low if mode.low == mode.high else float(np.exp(rng.uniform(np.log(mode.low), np.log(mode.high))))


def _drawn(circuit: Circuit, rng: np.random.Generator) -> Mapping[tuple[str, str], float]:
    drawn = {}
    for part, parameter, deviation, relative in tolerances(assemble(circuit)):
        away = deviation * float(rng.standard_normal())
        given = circuit.parts[part].values[parameter]
        held = relative and isinstance(given, Value)
        drawn[part, parameter] = given.value * max(1.0 + away, LEAST_SHARE) if held else away  # type: ignore[union-attr]
    return drawn


class DomainVehicle(TruthVehicle):
    """A vehicle on which gauges, thermometers and meters are read; see `TruthVehicle`."""

    case: DomainCase

    @property
    def truth(self) -> Truth:
        """The vehicle as it is now."""
        return self.case.truth(not (self.quiet or self.mended))

    def measure(self, name: str) -> Reading:
        function = Function(self.case.circuit.measurements[name].function)
        if function.drives and live(self.truth.open_voltage(name)):
            return Reading.unread(function.unit)
        true = self.truth.reading(name, self.meter, self.lead_offset)
        if function in FITS:
            return self._fitted(name, function, true)
        return self.shown(function, true)

    def _fitted(self, name: str, function: Function, true: float) -> Reading:
        """Return what the fit of a logged warm-up says: nothing of an opening that the drive never came to."""
        error = FITS[function]
        if function is Function.FITTED_TEMPERATURE and not self.truth.opened():
            return Reading.unread(function.unit)
        value = true + error * float(self.rng.standard_normal())
        return Reading(value, False, describe(function, value), function.unit, uncertainty=error)

    def watch(self, name: str) -> str:
        described = self.case.circuit.behaviours[name]
        if self.rng.uniform() < described.slip:
            return str(self.rng.choice(list(described.outcomes)))
        return self.truth.behaviour(name)
