"""What the product predicts of a ready circuit: readings, signals and outcomes, sound and under every fault."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from proveout.circuits import Circuit, ready_circuit
from proveout.circuits.assemble import Assembly, assemble
from proveout.circuits.schema import Check, Limit
from proveout.diagnosis.faults import enumerate_faults
from proveout.diagnosis.observables import Observable, observable_of_check, observable_of_measurement, observables_of
from proveout.diagnosis.predict import OhmsSource, Variant, predict, single_fault_variants
from proveout.instruments import default_meter
from proveout.network.laws import Array

__all__ = ["Shown", "shown", "shown_at"]

Flags = npt.NDArray[np.bool_]
SOURCE = OhmsSource(1.0, 1500.0)  # a hand-held meter's lowest range: the resistance shown does not hang on it
OVER_LIMIT = 50.0e6


@dataclass(frozen=True)
class Shown:
    """All rows of a prediction: `rows` says which fault each is of; row 0 is the sound vehicle."""

    circuit: Circuit
    rows: tuple[str, ...]
    readings: Mapping[str, Array]
    good: Mapping[str, Flags]
    outcomes: Mapping[str, tuple[str, ...]]

    def of(self, fault: str) -> list[int]:
        """Return the rows of one fault."""
        return [k for k, row in enumerate(self.rows) if row == fault]

    def bad_readings(self, fault: str) -> set[str]:
        """Return the measurements that leave the manual's limits at some severity of a fault."""
        return {name for name, good in self.good.items() if not good[self.of(fault)].all()}

    def bad_behaviours(self, fault: str, kind: str = "") -> set[str]:
        """Return the behaviours (of one kind) that show another outcome than the sound vehicle at some severity."""
        return {
            name
            for name, seen in self.outcomes.items()
            if kind in ("", self.circuit.behaviours[name].kind) and any(seen[k] != seen[0] for k in self.of(fault))
        }


@cache
def shown(name: str, severities: int = 9) -> Shown:
    """Return what a ready circuit shows under every fault mode, at a few severities of each."""
    assembly = assemble(ready_circuit(name))
    return _shown(assembly, single_fault_variants(enumerate_faults(assembly), severities))


def shown_at(name: str, fault: str, *severities: float) -> Shown:
    """Return what a ready circuit shows under one fault at the severities given (in the unit of its parameter)."""
    assembly = assemble(ready_circuit(name))
    found = next(f for f in enumerate_faults(assembly) if f.reference == fault)
    return _shown(assembly, (Variant((found,), (np.array(severities),), 1),))


def _shown(assembly: Assembly, variants: tuple[Variant, ...]) -> Shown:
    circuit, meter = assembly.circuit, default_meter()
    observables = observables_of(circuit, meter)
    column: dict[Observable, Array] = dict(
        zip(observables, predict(assembly, variants, observables, SOURCE).mean.T, strict=True)
    )
    readings = {
        name: column[observable_of_measurement(circuit, measurement, meter)]
        for name, measurement in circuit.measurements.items()
    }
    limits = {name: measurement.limit or Limit(open=False) for name, measurement in circuit.measurements.items()}
    signals = {
        name: np.all([_holds(check, column[observable_of_check(s.setup, check)]) for check in s.checks], axis=0)
        for name, s in circuit.signals.items()
    }
    rows = ("sound", *(v.faults[0].reference for v in variants for _ in range(v.count)))
    return Shown(
        circuit,
        rows,
        readings,
        {name: _within(limits[name], reading) for name, reading in readings.items()},
        {name: tuple(_outcome(circuit, name, signals, k) for k in range(len(rows))) for name in circuit.behaviours},
    )


def _within(limit: Limit, reading: Array) -> Flags:
    if limit.open:
        return np.asarray(reading > OVER_LIMIT)
    low = -np.inf if limit.low is None else limit.low
    high = np.inf if limit.high is None else limit.high
    return np.asarray((reading >= low) & (reading <= high))


def _holds(check: Check, value: Array) -> Flags:
    return _within(Limit(low=check.at_least, high=check.at_most, open=False), value)


def _outcome(circuit: Circuit, behaviour: str, signals: Mapping[str, Flags], row: int) -> str:
    outcomes = circuit.behaviours[behaviour].outcomes
    return next(
        name for name, outcome in outcomes.items() if all(signals[s][row] == so for s, so in outcome.when.items())
    )
