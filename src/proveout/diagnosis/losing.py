"""How likely each hypothesis loses a signal now and then while it is recorded for some seconds."""

from __future__ import annotations

import numpy as np
from scipy.special import logsumexp

from proveout.diagnosis.likelihood import reading_likelihood
from proveout.diagnosis.model import Model
from proveout.diagnosis.observables import Observable
from proveout.instruments import Function, Reading
from proveout.network.laws import Array

__all__ = ["losing_chances", "lost_at_likelihood"]

STRAY = 0.02
"""Chance that a sound signal, or one that a steady fault spoils evenly, has a gap all the same (from memory)."""
SEEN = 0.9
"""Chance that a fault which is there about half the time shows a change within a recording (from memory)."""
LEVELS = ("low", "high", "swing")
ENDS = ("low", "high")
CHANGED = 0.5
"""Share of the sound level by which a fault must move it to be taken for a loss of the signal."""


def losing_chances(model: Model, presence: Array, column: int) -> Array:
    """Return P(signal lost at times | hypothesis), (H,).

    A fault that comes and goes is seen to lose the signal when it changes what is measured there by half or more; the
    likelier, the nearer its presence is to half the time: ``4 p (1 - p)`` of `SEEN`.

    Parameters
    ----------
    model : Model
    presence : (H,) float
        Probability that the fault shows itself at a moment.
    column : int
        Of the predictions: what is recorded.
    """
    return np.where(model.hypotheses.known, np.maximum(_by_fault(model, presence, column), STRAY), 0.5)


def lost_at_likelihood(model: Model, presence: Array, column: int, level: Reading) -> Array:
    """Return log P(signal lost at times, standing at that level | hypothesis), (H,).

    A fault that loses the signal leaves it at the low or at the high level that its row of the predictions has; a loss
    for no such reason may stand anywhere, by the broad density of the instrument.

    Parameters
    ----------
    model, presence, column
        As in `losing_chances`.
    level : Reading
        With a value.
    """
    h, p = model.hypotheses, model.predictions
    at = [k for k, o in enumerate(p.observables) if _same_place(p.observables[column], o) and o.quantity in ENDS]
    broad = model.meter.broad_log_density(Function.SCOPE_LOW, level)
    if not at:
        return np.log(losing_chances(model, presence, column)) + broad
    variance = np.sum(p.slopes[:, at] ** 2, axis=2) + p.rough[:, at]
    logs = [
        reading_likelihood(model.meter, Function.SCOPE_LOW, level, p.mean[:, k], variance[:, j]).log
        for j, k in enumerate(at)
    ]
    stands = logsumexp(logs, axis=0) - np.log(len(at))
    stray = np.log(np.where(h.known, STRAY, 0.5)) + broad
    with np.errstate(divide="ignore"):
        faulty = np.log(_by_fault(model, presence, column)) + stands[h.row]
    return np.asarray(np.logaddexp(stray, faulty))


def _by_fault(model: Model, presence: Array, column: int) -> Array:
    """Return the chance that the fault of each hypothesis itself loses the signal now and then, (H,)."""
    h, p = model.hypotheses, model.predictions
    alike = [k for k, o in enumerate(p.observables) if _same_place(p.observables[column], o)]
    scale = max(float(np.abs(p.mean[0, alike]).max()), 1e-3)
    moved = (np.abs(p.mean[:, alike] - p.mean[0, alike]) / scale).max(axis=1)
    comes = (presence > 0.0) & (presence < 1.0) & (h.variant >= 0)
    return np.where(comes & (moved[h.row] > CHANGED), SEEN * 4.0 * presence * (1.0 - presence), 0.0)


def _same_place(one: Observable, other: Observable) -> bool:
    at = (one.setup, one.red, one.black, one.part)
    return at == (other.setup, other.red, other.black, other.part) and other.quantity in (*LEVELS, one.quantity)
