"""What does not fit: the reading at odds with the rest, and what the drawing may lack."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from proveout.circuits.assemble import assemble
from proveout.circuits.schema import Bridge, Circuit
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.evidence import ReadingTaken
from proveout.diagnosis.faults import NONE_OF_THESE, Fault
from proveout.diagnosis.likelihood import reading_likelihood
from proveout.diagnosis.model import ohms_source
from proveout.diagnosis.predict import predict, single_fault_variants
from proveout.network import ELEMENTS
from proveout.network.laws import Array

__all__ = ["MissingConnection", "doubt_text", "missing_connections", "reading_at_odds"]

POORLY = 0.01  # predictive p-value of the best explanation below which something does not fit
WELL = 0.05
TRIAL_RESISTANCES = 8
TRIED = 3  # readings that are left out in full


@dataclass(frozen=True)
class MissingConnection:
    """A resistance between two nodes that the drawing does not have and that would explain the readings better.

    `gain` is the log likelihood of all readings with it, less that of the best explanation without it.
    """

    first: str
    second: str
    resistance: float
    gain: float


def doubt_text(belief: Belief) -> str:
    """Return what the technician should doubt, or an empty string."""
    sentences = [
        f"The reading '{_title(belief.model.circuit, name)}' fits nothing well: take it again."
        for name in sorted(belief.doubtful)
    ]
    if belief.explained < POORLY or belief.probability(NONE_OF_THESE) > 0.5:
        odd = reading_at_odds(belief)
        if odd:
            sentences.append(f"All other evidence fits together without '{_title(belief.model.circuit, odd)}'.")
        else:
            sentences.append("No single reading is to blame: the drawing may lack a connection, or differ.")
    return " ".join(dict.fromkeys(sentences))


def _title(circuit: Circuit, measurement: str) -> str:
    return circuit.measurements[measurement].title or measurement


def reading_at_odds(belief: Belief) -> str:
    """Return the one measurement without which the evidence is explained well, or an empty string (leave one out).

    The few whose loss lets some row explain the others best are tried in full.
    """
    best, name = WELL, ""
    for k in _likeliest_at_odds(belief):
        rest = Belief.start(belief.model)
        for j, evidence in enumerate(belief.evidence):
            if j != k:
                rest = rest.after(evidence)
        unexplained = rest.probability(NONE_OF_THESE)
        left_out = belief.evidence[k]
        if rest.explained > best and unexplained < 0.3 and isinstance(left_out, ReadingTaken):
            best, name = rest.explained, left_out.measurement
    return name


def _likeliest_at_odds(belief: Belief) -> list[int]:
    """Return the places in the evidence of the readings whose loss lets the best row gain most."""
    p, column = belief.model.predictions, belief.model.column
    places = [k for k, e in enumerate(belief.evidence) if isinstance(e, ReadingTaken) and e.reading.taken]
    if not places:
        return []
    logs = _logs(belief, p.mean, p.slopes, p.rough, column)
    without = (logs.sum(axis=0) - logs).max(axis=1)
    return [places[k] for k in np.argsort(-without)[:TRIED]]


def missing_connections(belief: Belief, most: int = 3) -> tuple[MissingConnection, ...]:
    """Try a resistor between every pair of nodes of the sound network, and return those that explain the readings best.

    Only pairs that beat the best explanation on the sheet are returned, the best first.
    """
    model = belief.model
    readings = [e for e in belief.evidence if isinstance(e, ReadingTaken) and e.reading.taken]
    if not readings:
        return ()
    circuit = _with_trial_resistors(model.circuit)
    faults = tuple(
        Fault(name, replace(ELEMENTS["bridge"].faults[0], low=bridge.low, high=bridge.high), bridge.title, "", 1.0)
        for name, bridge in circuit.bridges.items()
    )
    variants = single_fault_variants(faults, TRIAL_RESISTANCES)
    columns = {e.measurement: model.column[e.measurement] for e in readings}
    observables = [model.predictions.observables[c] for c in dict.fromkeys(columns.values())]
    trial = predict(assemble(circuit), variants, observables, ohms_source(model.meter))
    place = {c: k for k, c in enumerate(dict.fromkeys(columns.values()))}
    score = _score(belief, trial.mean, trial.slopes, trial.rough, {m: place[c] for m, c in columns.items()})
    p = model.predictions
    best = float(_score(belief, p.mean, p.slopes, p.rough, columns).max())
    found = []
    for variant in variants:
        k = int(score[variant.rows].argmax())
        bridge = circuit.bridges[variant.faults[0].part]
        gain = float(score[variant.rows][k]) - best
        found.append(MissingConnection(*bridge.nodes, float(variant.severities[0][k]), gain))
    ranked = sorted((f for f in found if f.gain > 2.0), key=lambda f: -f.gain)
    return tuple(ranked[:most])


def _with_trial_resistors(circuit: Circuit) -> Circuit:
    nodes = sorted({node for part in circuit.parts.values() for node in part.nodes})
    trials = {
        f"trial {a} {b}": Bridge(nodes=(a, b), title=f"{a} to {b}", repair="", insulation=1e15, low=0.05, high=2.0e5)
        for a, b in combinations(nodes, 2)
    }
    return circuit.model_copy(update={"bridges": trials})


def _score(belief: Belief, mean: Array, slopes: Array, rough: Array, columns: Mapping[str, int]) -> Array:
    """Return the log likelihood of all readings under each row, (row,)."""
    return np.asarray(_logs(belief, mean, slopes, rough, columns).sum(axis=0))


def _logs(belief: Belief, mean: Array, slopes: Array, rough: Array, columns: Mapping[str, int]) -> Array:
    """Return the log likelihood of each reading under each row, (reading, row), tolerances drawn anew for each."""
    model = belief.model
    found = []
    for e in belief.evidence:
        if isinstance(e, ReadingTaken) and e.reading.taken:
            k = columns[e.measurement]
            variance = np.sum(slopes[:, k] ** 2, axis=1) + rough[:, k]
            function = model.function(e.measurement)
            found.append(reading_likelihood(model.meter, function, e.reading, mean[:, k], variance).log)
    return np.stack(found)
