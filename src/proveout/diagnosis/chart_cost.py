"""What a chart costs up to the cure, hypothesis by hypothesis.

At an end the repair that it names comes first; where that does not cure, the suspects left follow in the order of
`repair_chain`. The cost of a step is its own plus that of where each result leads, weighted by the chance of the result
under the hypothesis, so one pass from the ends back gives the cost under every hypothesis.
"""

from __future__ import annotations

from collections.abc import Set

import numpy as np

from proveout.diagnosis.belief import Belief
from proveout.diagnosis.chart_model import is_cure
from proveout.diagnosis.evidence import Evidence, OutcomeSeen
from proveout.diagnosis.model import Model
from proveout.diagnosis.repair_chain import RepairPrices, chain
from proveout.network.laws import Array

__all__ = ["cost_from_end", "cured_for_good", "known_weight", "suspect_mass"]


def known_weight(belief: Belief) -> Array:
    """Return the probabilities of the hypotheses without 'none of these', (H,)."""
    weight = belief.weight * belief.model.hypotheses.known
    return np.asarray(weight / weight.sum())


def suspect_mass(model: Model, weight: Array) -> Array:
    """Return the weight of each suspect, (S,)."""
    return np.bincount(model.hypotheses.suspect, weight, len(model.suspects)).astype(float)


def cost_from_end(model: Model, prices: RepairPrices, weight: Array, opened: Set[str], suspect: str = "") -> Array:
    """Return minutes and money from an end up to the cure under each hypothesis, (2, H).

    Parameters
    ----------
    weight : (H,) float
        What arrives there, in any scale.
    suspect : str
        What the end says to repair; empty where it says nothing.
    """
    first = model.suspect_index[suspect] if suspect else -1
    _, spent = chain(prices, suspect_mass(model, weight), opened, first)
    return spent[:, model.hypotheses.suspect]


def cured_for_good(belief: Belief, evidence: Evidence) -> Array | None:
    """Return the share of each hypothesis that a lasting trial has cured, (H,), or None where none was.

    The rest only looks cured: the fault was absent just then.
    """
    if not is_cure(evidence) or not isinstance(evidence, OutcomeSeen):
        return None
    model = belief.model
    if not model.circuit.trials[evidence.name].lasting:
        return None
    cures = model.cures[evidence.name]
    gone = cures + (1.0 - cures) * (1.0 - belief.presence)
    return np.asarray(cures / np.maximum(gone, 1e-12))
