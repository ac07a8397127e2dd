"""Two faults at once: pairs enter when no single fault explains the evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from proveout.circuits.assemble import assemble
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.evidence import ReadingTaken
from proveout.diagnosis.faults import NONE_OF_THESE, Fault, Suspect, both_of, pair_name, severity_grid
from proveout.diagnosis.hypotheses import Hypotheses
from proveout.diagnosis.likelihood import reading_likelihood
from proveout.diagnosis.model import Model, ohms_source
from proveout.diagnosis.predict import Predictions, Variant, predict
from proveout.network.laws import Array

__all__ = ["with_pairs"]

POORLY = 0.01  # predictive p-value of the best explanation below which pairs are looked at
UNEXPLAINED = 0.3  # or the probability of 'none of these' above which they are
MOST_PAIRS = 24
PAIR_SEVERITIES = 7
PAIR_FREQUENCY = 0.05  # of a second fault being there too, as a factor on the product of the weights: common practice
WORST = -8.0  # log likelihood below which one reading no longer counts against a fault in choosing pairs


def with_pairs(belief: Belief) -> Belief:
    """Return the belief with pairs of faults among its hypotheses where single faults explain the evidence poorly.

    The evidence is taken in anew, so the result is the same as if the pairs had been there from the start. A belief
    that is explained well, or has pairs already, is returned as it is.
    """
    model = belief.model
    paired = any(len(v.faults) > 1 for v in model.predictions.variants)
    well = belief.explained >= POORLY and belief.probability(NONE_OF_THESE) <= UNEXPLAINED
    readings = [e for e in belief.evidence if isinstance(e, ReadingTaken) and e.reading.taken]
    if paired or well or len(readings) < 2:
        return belief
    wider = Belief.start(_with_variants(model, _choose(model, readings)))
    for evidence in belief.evidence:
        wider = wider.after(evidence)
    return wider


def _choose(model: Model, readings: Sequence[ReadingTaken]) -> list[tuple[Fault, Fault]]:
    """Return the pairs of which one or the other fault explains each reading best."""
    scores = np.array([_best_by_variant(model, taken) for taken in readings])
    variants = model.predictions.variants
    pairs = [
        (float(np.maximum(scores[:, i], scores[:, j]).sum()), i, j)
        for i, j in combinations(range(len(variants)), 2)
        if variants[i].faults[0].part != variants[j].faults[0].part
    ]
    pairs.sort(key=lambda entry: (-entry[0], entry[1], entry[2]))
    return [(variants[i].faults[0], variants[j].faults[0]) for _, i, j in pairs[:MOST_PAIRS]]


def _best_by_variant(model: Model, taken: ReadingTaken) -> Array:
    p, column = model.predictions, model.column[taken.measurement]
    variance = np.sum(p.slopes[:, column] ** 2, axis=1) + p.rough[:, column]
    function = model.function(taken.measurement)
    log = reading_likelihood(model.meter, function, taken.reading, p.mean[:, column], variance).log
    return np.array([max(float(log[v.rows].max()), WORST) for v in p.variants])


def _with_variants(model: Model, pairs: Sequence[tuple[Fault, Fault]]) -> Model:
    first, variants = 1, []
    for one, other in pairs:
        grid = np.meshgrid(*(severity_grid(f.mode, PAIR_SEVERITIES) for f in (one, other)), indexing="ij")
        variants.append(Variant((one, other), tuple(g.ravel() for g in grid), first))
        first += grid[0].size
    old = model.predictions
    new = predict(assemble(model.circuit), variants, old.observables, ohms_source(model.meter))
    slopes = np.zeros((*old.mean.shape, new.slopes.shape[2]))
    slopes[:, :, : old.slopes.shape[2]] = old.slopes
    shifted = [replace(v, first=v.first + len(old.mean) - 1) for v in variants]
    predictions = Predictions(
        old.observables,
        (*old.variants, *shifted),
        np.concatenate([old.mean, new.mean[1:]]),
        np.concatenate([slopes, new.slopes[1:]]),
        np.concatenate([old.rough, new.rough[1:]]),
    )
    suspects, places = _pair_suspects(model, pairs)
    hypotheses = _extended(model.hypotheses, predictions.variants, len(old.variants), places)
    return replace(model, suspects=suspects, predictions=predictions, hypotheses=hypotheses)


def _pair_suspects(model: Model, pairs: Sequence[tuple[Fault, Fault]]) -> tuple[tuple[Suspect, ...], list[int]]:
    """Return the suspects with those of the pairs added, and the place of each pair's suspect."""
    suspects = {s.name: s for s in model.suspects}
    names = []
    for one, other in pairs:
        name = one.suspect if one.suspect == other.suspect else pair_name(one.suspect, other.suspect)
        names.append(name)
        if name not in suspects:
            suspects[name] = both_of(suspects[one.suspect], suspects[other.suspect])
    order = list(suspects)
    return tuple(suspects.values()), [order.index(name) for name in names]


def _extended(old: Hypotheses, variants: Sequence[Variant], first: int, places: Sequence[int]) -> Hypotheses:
    rows, variant, suspect, prior = [], [], [], []
    for k, place in zip(range(first, len(variants)), places, strict=True):
        pair = variants[k]
        share = PAIR_FREQUENCY * pair.faults[0].weight * pair.faults[1].weight / pair.count
        for row in range(pair.first, pair.first + pair.count):
            rows.append(row)
            variant.append(k)
            suspect.append(place)
            prior.append(share)
    weight = np.concatenate([old.prior, prior])

    def joined(a: npt.NDArray[np.intp], b: Sequence[int]) -> npt.NDArray[np.intp]:
        return np.concatenate([a, np.array(b, dtype=np.intp)])

    return Hypotheses(
        joined(old.row, rows),
        joined(old.variant, variant),
        np.concatenate([old.presence, np.ones(len(rows))]),
        joined(old.suspect, suspect),
        weight / weight.sum(),
        np.concatenate([old.known, np.ones(len(rows), dtype=bool)]),
    )
