"""Hypotheses merged into the few particles that the planner works on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.diagnosis.belief import Belief
from proveout.network.laws import Array

__all__ = ["Particles", "particles_of"]

Index = npt.NDArray[np.intp]
NEGLIGIBLE = 4e-3  # probability mass of hypotheses that the planner may leave out
MOST_HYPOTHESES = 1600  # of which results are computed; beyond it neighbouring severities stand for one another
MOST_PARTICLES = 160


@dataclass(frozen=True)
class Particles:
    """Hypotheses merged for the planner.

    Attributes
    ----------
    kept : (H,) int
        The hypotheses of which results are computed, those of one particle together.
    weight : (H,) float
        Probability of each with those that it stands for.
    first : (F,) int
        Where in `kept` each particle begins.
    """

    kept: Index
    weight: Array
    first: Index

    @property
    def mass(self) -> Array:
        """Probability of each particle, (F,)."""
        return np.asarray(np.add.reduceat(self.weight, self.first))

    @property
    def share(self) -> Array:
        """Share of each kept hypothesis in its particle, (H,)."""
        counts = np.diff(np.append(self.first, len(self.kept)))
        return self.weight / np.repeat(self.mass, counts)

    def merged(self, chances: Array) -> Array:
        """Return the table (F, ...) of a table (H, ...) over the kept hypotheses."""
        weighted = chances * self.share.reshape(-1, *([1] * (chances.ndim - 1)))
        return np.asarray(np.add.reduceat(weighted, self.first, axis=0))


def particles_of(belief: Belief) -> Particles:
    """Return the hypotheses that matter, merged: neighbouring severities first, then the rare modes of one suspect."""
    h, weight = belief.model.hypotheses, belief.weight
    order = np.argsort(-weight)
    enough = np.searchsorted(np.cumsum(weight[order]), 1.0 - NEGLIGIBLE) + 1
    kept = np.sort(order[:enough])
    block = np.concatenate([[0], np.cumsum((np.diff(h.variant[kept]) != 0) | (np.diff(h.presence[kept]) != 0))])
    kept, mass, block = _thinned(kept, weight[kept], block)
    group = _runs(block, MOST_PARTICLES)
    group = _rare_together(group, mass, h.suspect[kept])
    order = np.argsort(group, kind="stable")
    first = np.flatnonzero(np.diff(group[order], prepend=-1))
    return Particles(kept[order], mass[order], first)


def _runs(block: Index, most: int) -> Index:
    """Return groups of neighbours within blocks, as short as leaves no more than `most` groups (or one a block)."""
    within = np.arange(len(block)) - np.searchsorted(block, block)
    longest = int(within.max()) + 1
    for size in range(1, longest + 1):
        begins = within % size == 0
        if begins.sum() <= most:
            break
    return np.cumsum(begins) - 1


def _thinned(kept: Index, weight: Array, block: Index) -> tuple[Index, Array, Index]:
    """Let the likeliest of neighbouring severities stand for all of them where there are too many hypotheses."""
    if len(kept) <= MOST_HYPOTHESES:
        return kept, weight, block
    run = _runs(block, MOST_HYPOTHESES)
    order = np.lexsort((-weight, run))
    chosen = np.sort(order[np.flatnonzero(np.diff(run[order], prepend=-1))])
    return kept[chosen], np.bincount(run, weight).astype(float), block[chosen]


def _rare_together(group: Index, weight: Array, suspect: Index) -> Index:
    """Merge the rarest groups of each suspect into one where there are too many groups."""
    count = int(group[-1]) + 1
    if count <= MOST_PARTICLES:
        return group
    mass = np.bincount(group, weight)
    of = suspect[np.flatnonzero(np.diff(group, prepend=-1))]
    label = np.arange(count)
    rare = np.argsort(mass)[: max(0, count - MOST_PARTICLES + len(np.unique(of)))]
    label[rare] = count + of[rare]
    return np.unique(label, return_inverse=True)[1][group]
