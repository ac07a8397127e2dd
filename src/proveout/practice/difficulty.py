"""How hard a fault is to find, from the model alone: who looks like it, how mild it is, whether it comes and goes.

The steady faults of a circuit about which an owner would complain, each at each severity, are ranked by how many
suspects look alike as long as nothing is dismantled; of equals the one whose readings are nearest to those of a sound
vehicle is the harder. Easy is the first third of the ranking by how often the faults occur, medium the second; hard is
the last, and every fault that comes and goes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from proveout.diagnosis import Model
from proveout.diagnosis.likelihood import UNMODELLED
from proveout.diagnosis.steps import Step, steps_of
from proveout.network.laws import Array

__all__ = ["DIFFICULTIES", "Difficulty", "Ranking", "rank"]

Difficulty = Literal["easy", "medium", "hard"]
DIFFICULTIES: tuple[Difficulty, ...] = get_args(Difficulty)
APART = 3.0  # standard deviations by which one reading must differ to tell two faults apart
SAME = 0.5  # total variation up to which a behaviour is the same
COMPLAINED = 0.5  # chance of some complaint from which an owner would come
BEYOND = 1.2  # times the most a meter shows: where over-limit readings are put
MOST_APART = 1.0e3


@dataclass(frozen=True)
class Ranking:
    """How hard each hypothesis of a model is, (H,) each.

    Attributes
    ----------
    alike : (H,) int
        Suspects, its own among them, of which some fault looks the same before anything is dismantled.
    away : (H,) float
        Most that any reading differs from a sound vehicle's, in standard deviations.
    chance : mapping
        Difficulty: how often each hypothesis is the fault of such a vehicle; sums to 1, or to 0 where there is none.
    """

    alike: npt.NDArray[np.intp]
    away: Array
    chance: Mapping[Difficulty, Array]


def rank(model: Model) -> Ranking:
    """Rank the faults of a circuit."""
    h = model.hypotheses
    alike, away = _alike(model)[h.row], _away(model)[h.row]
    possible = (h.variant >= 0) & h.known & (_complained(model)[h.row] > COMPLAINED)
    steady = possible & (h.presence >= 1.0)
    third = _thirds(np.lexsort((-np.round(away, 6), alike)), h.prior * steady)
    chance: dict[Difficulty, Array] = {}
    for k, name in enumerate(DIFFICULTIES):
        members = steady & (third == k)
        if name == "hard":
            members |= possible & (h.presence < 1.0)
        weight = h.prior * members
        chance[name] = weight / max(float(weight.sum()), 1e-300)
    return Ranking(alike, away, chance)


def _thirds(order: npt.NDArray[np.intp], weight: Array) -> npt.NDArray[np.intp]:
    """Return the third of the whole weight in which each hypothesis lies when they stand in this order, (H,)."""
    middle = np.cumsum(weight[order]) - 0.5 * weight[order]
    third = np.empty(len(weight), dtype=np.intp)
    third[order] = np.clip(np.floor(3.0 * middle / max(float(weight.sum()), 1e-300)), 0, 2)
    return third


def _complained(model: Model) -> Array:
    """Return the chance that some complaint is not what a sound vehicle does, (row,)."""
    sound = np.ones(len(model.predictions.mean))
    for name, behaviour in model.circuit.behaviours.items():
        if behaviour.kind == "complaint":
            good = np.array([outcome.good for outcome in behaviour.outcomes.values()])
            sound *= model.behaviours[name][:, good].sum(axis=1)
    return np.asarray(1.0 - sound)


def _alike(model: Model) -> npt.NDArray[np.intp]:
    """Return how many suspects look like each row to one who dismantles nothing, (row,); rows of no fault have 0."""
    h, steps = model.hypotheses, [step for step in steps_of(model.circuit) if not step.access]
    value, variance = _readings(model, [step for step in steps if step.kind == "measure"])
    watched = [model.behaviours[step.name] for step in steps if step.kind == "watch"]
    owner = np.full(len(value), -1, dtype=np.intp)
    faults = h.variant >= 0
    owner[h.row[faults]] = h.suspect[faults]
    counts = np.zeros(len(value), dtype=np.intp)
    for row in np.flatnonzero(owner >= 0):
        apart = np.abs(value - value[row]) / np.sqrt(variance + variance[row])
        same = (apart < APART).all(axis=1)
        for table in watched:
            same &= 0.5 * np.abs(table - table[row]).sum(axis=1) < SAME
        counts[row] = len(np.unique(owner[same & (owner >= 0)]))
    return counts


def _away(model: Model) -> Array:
    """Return the most by which some reading differs from a sound vehicle's, in standard deviations, (row,)."""
    value, variance = _readings(model, [step for step in steps_of(model.circuit) if step.kind == "measure"])
    apart = np.abs(value - value[0]) / np.sqrt(variance + variance[0])
    return np.minimum(apart.max(axis=1, initial=0.0), MOST_APART)


def _readings(model: Model, steps: list[Step]) -> tuple[Array, Array]:
    """Return what the meter would show and its variance, (row, reading) each."""
    p, values, variances = model.predictions, [np.zeros(len(model.predictions.mean))], [np.ones(1)]
    for step in steps:
        column, function = model.column[step.name], model.function(step.name)
        most = BEYOND * model.meter.span(function)[1]
        shown = np.clip(p.mean[:, column], -most, most)
        error = model.meter.standard_error(function, shown) + UNMODELLED.get(function.kind, 0.0)
        values.append(shown)
        variances.append(np.sum(p.slopes[:, column] ** 2, axis=1) + p.rough[:, column] + error**2)
    return np.stack(values, axis=1), np.stack(np.broadcast_arrays(*variances, np.ones(len(p.mean)))[:-1], axis=1)
