"""Every hypothesis of a case: a fault at a severity, the same as an intermittent, no fault now, none of these."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE, Suspect
from proveout.diagnosis.predict import Variant
from proveout.network.laws import Array

__all__ = ["DISTURBED", "PRESENCE", "Hypotheses", "lay_out", "presence_disturbed"]

Index = npt.NDArray[np.intp]
INTERMITTENT_SHARE = 0.12  # of the weight of a mode that may come and go: common practice, corrected by closed cases
PRESENCE = 0.3  # chance that an intermittent shows itself at one reading: common practice
DISTURBED = 0.7  # the same while its place is wiggled, warmed or shaken: common practice


@dataclass(frozen=True)
class Hypotheses:
    """H hypotheses.

    Attributes
    ----------
    row : (H,) int
        Row of the predictions that holds while the fault is there.
    variant : (H,) int
        Index of the fault mode (variant), -1 for the two standing hypotheses.
    presence : (H,) float
        Probability that the fault shows itself at a reading taken now.
    suspect : (H,) int
        Index of the suspect.
    prior : (H,) float
        Sums to 1.
    known : (H,) bool
        False for 'none of these', which predicts nothing.
    """

    row: Index
    variant: Index
    presence: Array
    suspect: Index
    prior: Array
    known: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        """Return H."""
        return len(self.row)


def lay_out(
    variants: Sequence[Variant], suspects: Sequence[Suspect], no_fault_weight: float, unknown_weight: float
) -> Hypotheses:
    """Return the hypotheses of a circuit: all steady faults, then the intermittents, then the two standing ones."""
    place = {suspect.name: k for k, suspect in enumerate(suspects)}
    entries: list[tuple[int, int, float, int, float, bool]] = []
    whole = max(sum(v.faults[0].weight for v in variants), 1e-12)
    for k, variant in enumerate(variants):
        fault = variant.faults[0]
        steady = 1.0 - INTERMITTENT_SHARE if fault.mode.intermittent else 1.0
        share = steady * fault.weight / whole / variant.count
        entries += [(r, k, 1.0, place[fault.suspect], share, True) for r in _rows(variant)]
    for k, variant in enumerate(variants):
        fault = variant.faults[0]
        if fault.mode.intermittent:
            share = INTERMITTENT_SHARE * fault.weight / whole / variant.count
            entries += [(r, k, PRESENCE, place[fault.suspect], share, True) for r in _rows(variant)]
    entries.append((0, -1, 0.0, place[NO_FAULT_NOW], no_fault_weight, True))
    entries.append((0, -1, 1.0, place[NONE_OF_THESE], unknown_weight, False))
    return _pack(entries)


def presence_disturbed(presence: Array) -> Array:
    """Return the presence of each hypothesis while the harness is disturbed; steady and absent faults stay as they are.

    A fault that comes and goes shows itself more often by the factor `DISTURBED / PRESENCE`.
    """
    return np.where(presence < 1.0, np.minimum(presence * (DISTURBED / PRESENCE), 1.0), presence)


def _rows(variant: Variant) -> list[int]:
    return list(range(variant.first, variant.first + variant.count))


def _pack(entries: Sequence[tuple[int, int, float, int, float, bool]]) -> Hypotheses:
    row, variant, presence, suspect, prior, known = zip(*entries, strict=True)
    weight = np.array(prior)
    return Hypotheses(
        np.array(row, dtype=np.intp),
        np.array(variant, dtype=np.intp),
        np.array(presence),
        np.array(suspect, dtype=np.intp),
        weight / weight.sum(),
        np.array(known),
    )
