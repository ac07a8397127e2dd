"""How likely each hypothesis loses a signal now and then while it is recorded for some seconds."""

from __future__ import annotations

import numpy as np

from proveout.diagnosis.model import Model
from proveout.diagnosis.observables import Observable
from proveout.network.laws import Array

__all__ = ["losing_chances"]

STRAY = 0.02
"""Chance that a sound signal, or one that a steady fault spoils evenly, has a gap all the same (from memory)."""
SEEN = 0.9
"""Chance that a fault which is there about half the time shows a change within a recording (from memory)."""
LEVELS = ("low", "high", "swing")
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
    h, p = model.hypotheses, model.predictions
    alike = [k for k, o in enumerate(p.observables) if _same_place(p.observables[column], o)]
    scale = max(float(np.abs(p.mean[0, alike]).max()), 1e-3)
    moved = (np.abs(p.mean[:, alike] - p.mean[0, alike]) / scale).max(axis=1)
    comes = (presence > 0.0) & (presence < 1.0) & (h.variant >= 0)
    chance = np.where(comes & (moved[h.row] > CHANGED), SEEN * 4.0 * presence * (1.0 - presence), STRAY)
    return np.where(h.known, np.maximum(chance, STRAY), 0.5)


def _same_place(one: Observable, other: Observable) -> bool:
    at = (one.setup, one.red, one.black, one.part)
    return at == (other.setup, other.red, other.black, other.part) and other.quantity in (*LEVELS, one.quantity)
