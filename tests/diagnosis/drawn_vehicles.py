"""Vehicles drawn from the product's own model, for tests of whether its probabilities mean what they say.

Severities are drawn anew and lie between the grid points; tolerances, scatter, the instrument's error and slips are
drawn as the model believes them to be.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.circuits.assemble import assemble
from proveout.diagnosis import Belief, Model, OutcomeSeen, ReadingTaken
from proveout.diagnosis.belief import SLIP
from proveout.diagnosis.faults import NO_FAULT_NOW
from proveout.diagnosis.likelihood import reading_variance
from proveout.diagnosis.model import ohms_source
from proveout.diagnosis.predict import Predictions, Variant, predict
from proveout.diagnosis.tables import behaviour_table
from proveout.instruments import Reading

__all__ = ["DrawnVehicle", "draw_sound", "draw_vehicles"]

Values = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Truth:
    """True values by the model's columns, and P(outcome) of each behaviour."""

    values: Values
    behaviours: dict[str, Values]


@dataclass(frozen=True)
class DrawnVehicle:
    """A vehicle: the suspect at fault, the chance that the fault shows itself at a time, and what there is to see then.

    `there` and `away` are what each observable truly is, and the chances of each behaviour's outcomes, with the fault
    present and absent.
    """

    model: Model
    suspect: str
    presence: float
    there: Truth
    away: Truth
    rng: np.random.Generator

    @property
    def now(self) -> Truth:
        """The vehicle at this moment."""
        return self.there if self.rng.random() < self.presence else self.away

    def reading(self, measurement: str, slips: bool = True) -> Reading:
        """Take a reading with the instrument's error; as often as the model has it, it is a slip."""
        model, function = self.model, self.model.function(measurement)
        value = float(self.now.values[model.column[measurement]])
        if slips and self.rng.random() < SLIP:
            return self._anything(measurement)
        if model.meter.over_limit(function, value):
            return Reading.over(function.unit)
        error = np.sqrt(reading_variance(model.meter, function, value, 0.0)) * self.rng.standard_normal()
        least, _ = model.meter.span(function)
        return model.meter.read(function, max(value + float(error), least))

    def _anything(self, measurement: str) -> Reading:
        """Draw from the broad density, by rejection from a grid of values."""
        function = self.model.function(measurement)
        least, most = self.model.meter.span(function)
        values = np.geomspace(1e-4, most, 800)
        if least < 0:
            values = np.concatenate([-np.geomspace(-least, 1e-4, 400), values])
        density = np.exp(self.model.meter.broad_log_densities(function, values)) * np.gradient(values)
        over = float(np.exp(self.model.meter.broad_log_densities(function, np.nan, True)))
        if self.rng.random() < over:
            return Reading.over(function.unit)
        return self.model.meter.read(function, float(self.rng.choice(values, p=density / density.sum())))

    def outcome(self, behaviour: str) -> str:
        """Say what a behaviour does."""
        outcomes = list(self.model.circuit.behaviours[behaviour].outcomes)
        return outcomes[int(self.rng.choice(len(outcomes), p=self.now.behaviours[behaviour]))]

    def belief(self, complaint: str, measurements: Sequence[str], slips: bool = True) -> Iterator[Belief]:
        """Yield the belief after a complaint, then after each reading."""
        belief = Belief.start(self.model).after(OutcomeSeen("behaviour", complaint, self.outcome(complaint)))
        yield belief
        for name in measurements:
            belief = belief.after(ReadingTaken(name, self.reading(name, slips)))
            yield belief


def draw_vehicles(model: Model, count: int, rng: np.random.Generator) -> Iterator[DrawnVehicle]:
    """Yield vehicles as likely as the model's prior has them, 'none of these' apart, severity evenly in logarithm."""
    h = model.hypotheses
    weight = h.prior * h.known
    drawn = rng.choice(len(weight), count, p=weight / weight.sum())
    faulty = [int(k) for k in drawn if h.variant[k] >= 0]
    variants = []
    for number, k in enumerate(faulty):
        fault = model.faults[h.variant[k]]
        low, high = fault.mode.low, fault.mode.high
        grid = np.exp(rng.uniform(np.log(low), np.log(high), 1)) if low < high else np.array([low or 1.0])
        variants.append(Variant((fault,), (grid,), number + 1))
    exact = predict(assemble(model.circuit), variants, model.predictions.observables, ohms_source(model.meter))
    tables = {name: behaviour_table(exact, model.circuit, b) for name, b in model.circuit.behaviours.items()}
    row = 0
    for k in drawn.tolist():
        row += h.variant[k] >= 0
        chance = _Chance(rng, exact)
        there, away = (_truth(exact, tables, r, chance) for r in (row if h.variant[k] >= 0 else 0, 0))
        yield DrawnVehicle(model, model.suspects[h.suspect[k]].name, float(h.presence[k]), there, away, rng)


def draw_sound(model: Model, count: int, rng: np.random.Generator) -> Iterator[DrawnVehicle]:
    """Yield sound vehicles."""
    p = model.predictions
    for _ in range(count):
        sound = _truth(p, model.behaviours, 0, _Chance(rng, p))
        yield DrawnVehicle(model, NO_FAULT_NOW, 0.0, sound, sound, rng)


class _Chance:
    """What chance gave one vehicle: its latents, and the scatter of each observable."""

    def __init__(self, rng: np.random.Generator, exact: Predictions) -> None:
        self.latents: Values = rng.standard_normal((exact.slopes.shape[2],))
        self.scatter: Values = rng.standard_normal((exact.rough.shape[1],))


def _truth(exact: Predictions, tables: Mapping[str, Values], row: int, chance: _Chance) -> Truth:
    values = exact.mean[row] + exact.slopes[row] @ chance.latents + np.sqrt(exact.rough[row]) * chance.scatter
    return Truth(values, {name: table[row] for name, table in tables.items()})
