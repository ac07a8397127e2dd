"""Likelihood tables of what is seen rather than measured: behaviours from the network, looks and trials from data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np
from scipy.special import ndtr

from proveout.circuits.schema import Behaviour, Circuit, Look, Signal, Trial
from proveout.diagnosis.faults import NO_FAULT_NOW, matching
from proveout.diagnosis.hypotheses import Hypotheses
from proveout.diagnosis.observables import observable_of_check
from proveout.diagnosis.predict import Predictions
from proveout.network.laws import Array

__all__ = ["behaviour_table", "look_table", "signal_probability", "trial_cures"]

THRESHOLD_SPREAD = 0.02  # standard deviation of a threshold as a share of it: common practice
LEAST_SPREAD = 1e-6  # the same at a threshold of nothing, or this share of the largest value where all are below 1


def signal_probability(predictions: Predictions, signal: Signal) -> Array:
    """Return P(signal) for every prediction row, (G,): the product over its checks of P(check)."""
    result = np.ones(len(predictions.mean))
    for check in signal.checks:
        k = predictions.observables.index(observable_of_check(signal.setup, check))
        mean = predictions.mean[:, k]
        variance = np.sum(predictions.slopes[:, k] ** 2, axis=1) + predictions.rough[:, k]
        for bound, sign in ((check.at_least, 1.0), (check.at_most, -1.0)):
            if bound is not None:
                least = LEAST_SPREAD * min(1.0, np.abs(mean).max()) + np.finfo(float).tiny
                spread = np.sqrt(variance + (THRESHOLD_SPREAD * bound) ** 2 + least**2)
                result *= ndtr(sign * (mean - bound) / spread)
    return result


def behaviour_table(predictions: Predictions, circuit: Circuit, behaviour: Behaviour) -> Array:
    """Return P(outcome | row), (G, outcome): the first outcome whose signals agree, mixed with the observer's slips."""
    names = sorted({signal for outcome in behaviour.outcomes.values() for signal in outcome.when})
    chance = {name: signal_probability(predictions, circuit.signals[name]) for name in names}
    table = np.zeros((len(predictions.mean), len(behaviour.outcomes)))
    for truth in product((True, False), repeat=len(names)):
        state = dict(zip(names, truth, strict=True))
        weight = np.ones(len(table))
        for name, so in state.items():
            weight *= chance[name] if so else 1.0 - chance[name]
        table[:, _first_match(behaviour, state)] += weight
    return (1.0 - behaviour.slip) * table + behaviour.slip / table.shape[1]


def _first_match(behaviour: Behaviour, state: Mapping[str, bool]) -> int:
    return next(
        k
        for k, outcome in enumerate(behaviour.outcomes.values())
        if all(state[s] == so for s, so in outcome.when.items())
    )


def look_table(look: Look, references: Sequence[str], hypotheses: Hypotheses) -> Array:
    """Return P(outcome | hypothesis), (H, outcome), from the patterns of a look; `references` names the variants."""
    named, place = np.unique(_references(references, hypotheses), return_inverse=True)
    rows = [
        [(_entry(look.given, reference) or look.otherwise).get(outcome, 0.0) for outcome in look.outcomes]
        for reference in named.tolist()
    ]
    return np.array(rows)[place]


def trial_cures(trial: Trial, references: Sequence[str], hypotheses: Hypotheses) -> Array:
    """Return P(cured by the trial | hypothesis), (H,)."""
    wrapped = {pattern: {"cured": chance} for pattern, chance in trial.cures.items()}
    named, place = np.unique(_references(references, hypotheses), return_inverse=True)
    found = [_entry(wrapped, reference) for reference in named.tolist()]
    return np.array([entry["cured"] if entry else 0.0 for entry in found])[place]


def _references(references: Sequence[str], hypotheses: Hypotheses) -> list[str]:
    """Return each hypothesis' reference; an intermittent one ends in `~`."""
    named = []
    for variant, presence, known in zip(hypotheses.variant, hypotheses.presence, hypotheses.known, strict=True):
        if variant < 0:
            named.append(NO_FAULT_NOW if known else "")
        else:
            named.append(references[variant] + ("~" if presence < 1.0 else ""))
    return named


def _entry(patterns: Mapping[str, Mapping[str, float]], reference: str) -> Mapping[str, float] | None:
    """Return the entry for a reference; a pair `a+b` takes the first of its faults that has one.

    A pattern that ends in `~` is for the fault that comes and goes only, and goes before all others.
    """
    coming = {pattern: entry for pattern, entry in patterns.items() if pattern.endswith("~")}
    either = {pattern: entry for pattern, entry in patterns.items() if not pattern.endswith("~")}
    for part in reference.split("+"):
        entry = matching(coming, part) or matching(either, part.rstrip("~"))
        if entry is not None:
            return entry
    return None
