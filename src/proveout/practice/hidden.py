"""The vehicle with its hidden fault: what it shows to a meter, to the eye and to a trial.

What a thing shows the first, second or third time it is asked hangs on the seed alone, not on the order in which things
are asked, so that a class with one code gets the same answers to the same questions.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from proveout.circuits.assemble import assemble
from proveout.circuits.schema import Check, Circuit
from proveout.diagnosis import Model
from proveout.diagnosis.faults import NO_FAULT_NOW, Fault, Suspect
from proveout.diagnosis.hypotheses import DISTURBED, PRESENCE
from proveout.diagnosis.model import ohms_source
from proveout.diagnosis.observables import (
    Observable,
    observable_of_check,
    observable_of_measurement,
    observables_of,
)
from proveout.diagnosis.predict import Predictions, Variant, predict
from proveout.instruments import Reading, live
from proveout.practice.individual import Individual

__all__ = ["HiddenVehicle", "Standing"]


@dataclass(frozen=True)
class Standing:
    """What has been done to a vehicle: whether the part at fault was repaired, whether a trial made the fault quiet."""

    mended: bool = False
    quiet: bool = False


@dataclass(frozen=True, repr=False)
class HiddenVehicle:
    """A vehicle of one circuit; `hypothesis` is the number of the model's hypothesis that is true of it.

    Its text form does not say what the fault is.
    """

    model: Model
    hypothesis: int
    severity: float
    individual: Individual
    seed: tuple[int, ...]

    def __repr__(self) -> str:
        """Return a text that tells nothing of the fault."""
        return f"HiddenVehicle({self.model.circuit.name})"

    @property
    def fault(self) -> Fault:
        """The fault mode."""
        return self.model.faults[int(self.model.hypotheses.variant[self.hypothesis])]

    @property
    def suspect(self) -> Suspect:
        """What must be repaired or replaced."""
        return self.model.suspects[int(self.model.hypotheses.suspect[self.hypothesis])]

    @property
    def comes_and_goes(self) -> bool:
        """Whether the fault is an intermittent."""
        return bool(self.model.hypotheses.presence[self.hypothesis] < 1.0)

    def measure(self, name: str, nth: int, standing: Standing, *, disturbed: bool = False) -> Reading:
        """Take a measurement for the `nth` time; ohms between live places are not read."""
        rng, function = self._rng("measure", name, nth), self.model.function(name)
        row = self._row(rng, standing, disturbed=disturbed)
        if function.drives and live(self._value(row, self._open_voltage(name))):
            return Reading.unread(function.unit)
        meter = self.model.meter
        true = self._value(row, observable_of_measurement(self._circuit, self._circuit.measurements[name], meter))
        if function.drives:
            true += meter.lead_offset + self.individual.lead_offset
        if not math.isfinite(true) or meter.over_limit(function, true):
            return Reading.over(function.unit)
        capability = meter.capability(function)
        resolution, fraction, counts, _ = capability.select(true)
        error = rng.uniform(-1.0, 1.0) * (abs(true) * fraction + counts * resolution)
        return meter.read(function, max(float(true + error), capability.least))

    def watch(self, name: str, nth: int, standing: Standing, *, disturbed: bool = False) -> str:
        """Return the outcome of a behaviour as it is noted: it slips as often as the circuit's file says."""
        rng, described = self._rng("watch", name, nth), self._circuit.behaviours[name]
        row = self._row(rng, standing, disturbed=disturbed)
        if rng.uniform() < described.slip:
            return str(rng.choice(list(described.outcomes)))
        return self._behaviour(name, row)

    def prove(self, nth: int, standing: Standing) -> str:
        """Return the outcome of the proof behaviour, watched with care: it does not slip."""
        row = self._row(self._rng("prove", self._circuit.proof, nth), standing, disturbed=True)
        return self._behaviour(self._circuit.proof, row)

    def look(self, name: str, nth: int, standing: Standing) -> str:
        """Return what is seen, by the tabulated chances; a second look at the same thing sees the same."""
        place = self._sound if standing.mended else self.hypothesis
        outcomes = list(self._circuit.looks[name].outcomes)
        weights = self.model.looks[name][place]
        moves = self.comes_and_goes and not standing.mended
        rng = self._rng("look", name, nth if moves else 0)
        return outcomes[int(rng.choice(len(outcomes), p=weights / weights.sum()))]

    def attempt(self, name: str, nth: int, standing: Standing) -> str:
        """Carry out a trial; return `cured` or `same`. A fault that is away just then looks cured."""
        rng = self._rng("try", name, nth)
        if standing.mended or standing.quiet:
            return "cured"
        helps = rng.uniform() < float(self.model.cures[name][self.hypothesis])
        return "cured" if helps or not self._there(rng, standing, disturbed=False) else "same"

    def complaints(self) -> dict[str, str]:
        """Return the complaint behaviours whose outcome is not a sound vehicle's while the fault is there."""
        return self._not_good("complaint", 1)

    def codes(self) -> tuple[str, ...]:
        """Return the code behaviours that are set while the fault is there."""
        return tuple(name for name, outcome in self._not_good("code", 1).items() if outcome == "set")

    def sound_once_mended(self) -> bool:
        """Tell whether nothing is left to complain about when the fault is repaired: no tolerance alone does that."""
        return not any(self._not_good(kind, 0) for kind in ("complaint", "code", "display"))

    def _not_good(self, kind: str, row: int) -> dict[str, str]:
        wanted = {name: b for name, b in self._circuit.behaviours.items() if b.kind == kind}
        seen = {name: self._behaviour(name, row) for name in wanted}
        return {name: outcome for name, outcome in seen.items() if not wanted[name].outcomes[outcome].good}

    @property
    def _circuit(self) -> Circuit:
        return self.individual.circuit

    @property
    def _sound(self) -> int:
        """The hypothesis 'no fault present now'."""
        h, place = self.model.hypotheses, self.model.suspect_index[NO_FAULT_NOW]
        return int(np.flatnonzero(h.suspect == place)[0])

    @cached_property
    def _columns(self) -> Mapping[Observable, int]:
        return {observable: k for k, observable in enumerate(self._exact.observables)}

    @cached_property
    def _exact(self) -> Predictions:
        """What this vehicle shows: row 0 with its fault mended, row 1 with it."""
        circuit, meter = self._circuit, self.model.meter
        opens = [self._open_voltage(name) for name in circuit.measurements if self.model.function(name).drives]
        observables = tuple(dict.fromkeys([*observables_of(circuit, meter), *opens]))
        variant = Variant((self.fault,), (np.array([self.severity]),), 1)
        return predict(assemble(circuit), [variant], observables, ohms_source(meter))

    def _open_voltage(self, name: str) -> Observable:
        m = self._circuit.measurements[name]
        return Observable(m.setup, "mean", self._circuit.points[m.red].node, self._circuit.points[m.black].node)

    def _value(self, row: int, observable: Observable) -> float:
        return float(self._exact.mean[row, self._columns[observable]])

    def _behaviour(self, name: str, row: int) -> str:
        outcomes = self._circuit.behaviours[name].outcomes
        signals = {signal for outcome in outcomes.values() for signal in outcome.when}
        so = {signal: self._holds(signal, row) for signal in signals}
        return next(n for n, o in outcomes.items() if all(so[s] == wanted for s, wanted in o.when.items()))

    def _holds(self, signal: str, row: int) -> bool:
        described = self._circuit.signals[signal]
        values = [self._value(row, observable_of_check(described.setup, check)) for check in described.checks]
        factors = [self.individual.thresholds[signal, k] for k in range(len(values))]
        return all(_met(*each) for each in zip(described.checks, values, factors, strict=True))

    def _row(self, rng: np.random.Generator, standing: Standing, *, disturbed: bool) -> int:
        return 1 if self._there(rng, standing, disturbed=disturbed) else 0

    def _there(self, rng: np.random.Generator, standing: Standing, *, disturbed: bool) -> bool:
        toss = rng.uniform()
        if standing.mended or standing.quiet:
            return False
        return not self.comes_and_goes or bool(toss < (DISTURBED if disturbed else PRESENCE))

    def _rng(self, *asked: str | int) -> np.random.Generator:
        words: Sequence[int] = [zlib.crc32(str(word).encode()) for word in asked]
        return np.random.default_rng([*self.seed, *words])


def _met(check: Check, value: float, factor: float) -> bool:
    enough = check.at_least is None or value >= check.at_least * factor
    return enough and (check.at_most is None or value <= check.at_most * factor)
