"""What steps may show: the possible results of each, and how probable each result is under each hypothesis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.diagnosis.belief import SLIP, Belief
from proveout.diagnosis.bins import bin_chances, bin_edges_of_columns
from proveout.diagnosis.likelihood import shown_spread
from proveout.diagnosis.particles import Particles
from proveout.diagnosis.steps import Step
from proveout.network.laws import Array

__all__ = ["Outcomes", "reading_outcomes", "step_outcomes", "steps_likelihood"]

Index = npt.NDArray[np.intp]
BINS = 10
UNSEEN = 0.99  # probability of an over-limit display from which a row has no part in where the bands lie


@dataclass(frozen=True)
class Outcomes:
    """The possible results of one step: P(outcome | hypothesis) (H, outcome), names, and for readings the bin edges."""

    names: tuple[str, ...]
    chances: Array
    edges: Array | None = None


def step_outcomes(belief: Belief, step: Step, kept: Index | None = None) -> Outcomes:
    """Return the possible results of a step and their probability under each hypothesis, (H, outcome).

    With `kept` only the rows of those hypotheses are computed, in that order.
    """
    model = belief.model
    kept = np.arange(len(model.hypotheses)) if kept is None else kept
    if step.kind == "measure":
        return reading_outcomes(belief, step.name, kept)
    if step.kind == "watch":
        names = tuple(model.circuit.behaviours[step.name].outcomes)
        return Outcomes(names, belief.behaviour_chances(step.name, kept))
    if step.kind == "look":
        return Outcomes(tuple(model.circuit.looks[step.name].outcomes), model.looks[step.name][kept])
    return Outcomes(("cured", "same"), belief.trial_chances(step.name)[kept])


def reading_outcomes(belief: Belief, measurement: str, kept: Index, walls: Sequence[float] = ()) -> Outcomes:
    """Return the bands of a reading and their probability under some hypotheses; the `walls` are edges too."""
    model = belief.model
    (edges,) = _Readings(belief, [measurement], kept, belief.weight[kept]).edges
    edges = np.unique(np.concatenate([edges, walls]))
    names = tuple(f"band {k}" for k in range(len(edges) + 1))
    chances = belief.band_chances(model.column[measurement], model.function(measurement), edges, kept)
    return Outcomes((*names, "OL"), chances, edges)


def steps_likelihood(belief: Belief, steps: Sequence[Step], particles: Particles) -> Array:
    """Return P(outcome | particle) of all steps, (T, F, O), all readings in one go; unused outcomes are zero."""
    readings = [k for k, step in enumerate(steps) if step.kind == "measure"]
    others = {
        k: particles.merged(step_outcomes(belief, step, particles.kept).chances)
        for k, step in enumerate(steps)
        if step.kind != "measure"
    }
    width = max([table.shape[1] for table in others.values()] + [BINS + 1] * bool(readings), default=1)
    likelihood = np.zeros((len(steps), len(particles.first), width))
    for k, table in others.items():
        likelihood[k, :, : table.shape[1]] = table
    if readings:
        names = [steps[k].name for k in readings]
        found = _Readings(belief, names, particles.kept, particles.weight).likelihood(particles)
        likelihood[readings, :, : BINS + 1] = found.transpose(1, 0, 2)
    return likelihood


class _Readings:
    """Several readings over the rows of some hypotheses: predicted values (row, reading), edges of the bands."""

    def __init__(self, belief: Belief, measurements: Sequence[str], kept: Index, weight: Array) -> None:
        model, h = belief.model, belief.model.hypotheses
        self.presence, self.known = belief.presence[kept], h.known[kept]
        # The sound row comes along: a fault that comes and goes shows it while it is away.
        self.rows, back = np.unique(np.append(h.row[kept], 0), return_inverse=True)
        self.back, self.sound = back[:-1], int(back[-1])
        columns = np.array([model.column[name] for name in measurements], dtype=np.intp)
        self.centre, variance = belief.predictive_columns(columns, self.rows)
        self.over, self.spread = np.empty_like(variance), np.empty_like(variance)
        functions = [model.function(name) for name in measurements]
        for function in dict.fromkeys(functions):
            of = [k for k, other in enumerate(functions) if other is function]
            shown = shown_spread(model.meter, function, self.centre[:, of], variance[:, of])
            self.over[:, of], self.spread[:, of] = shown
        self.edges = self._edges(weight * self.known)

    def _edges(self, weight: Array) -> list[Array]:
        showing = np.bincount(self.back, weight * self.presence, len(self.rows))
        showing[self.sound] += np.sum(weight * (1.0 - self.presence))
        share = np.where(self.over < UNSEEN, showing[:, None] * (1.0 - self.over), 0.0)
        return bin_edges_of_columns(self.centre, self.spread, share, BINS)

    def likelihood(self, particles: Particles) -> Array:
        """Return P(band | particle), (F, reading, BINS + 1), over-limit last."""
        most = max(len(edges) for edges in self.edges)
        padded = np.full((len(self.edges), most), np.inf)
        used = np.zeros((len(self.edges), BINS + 1), dtype=bool)
        used[:, -1] = True
        for k, edges in enumerate(self.edges):
            padded[k, : len(edges)] = edges
            used[k, : len(edges) + 1] = True
        table = np.zeros((*self.centre.shape, BINS + 1))
        table[:, :, : most + 1] = bin_chances(self.centre, self.spread, padded)
        table[:, :, :-1] *= (1.0 - self.over)[:, :, None]
        table[:, :, -1] = self.over
        even = used / used.sum(axis=1, keepdims=True)
        return self._merged(particles, (1.0 - SLIP) * table + SLIP * even, even)

    def _merged(self, particles: Particles, table: Array, even: Array) -> Array:
        chances = table[self.back]
        away = np.flatnonzero((self.presence < 1.0) & self.known)
        here = self.presence[away, None, None]
        chances[away] = here * chances[away] + (1.0 - here) * table[self.sound]
        chances[~self.known] = even
        return particles.merged(chances)
