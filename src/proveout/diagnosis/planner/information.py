"""What a test is expected to tell about the repair: mutual information between outcome and repair.

Entropy is taken over repairs, not particles: knowing how badly a terminal is corroded is worth nothing by itself
(Heckerman, Breese and Rommelse, 1995, "Decision-theoretic troubleshooting").
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.diagnosis.planner.model import PlanningModel

__all__ = [
    "InformationTable",
    "binary_entropy",
    "entropy",
    "information_table",
    "outcomes_by_repair",
    "test_information",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Singles = NDArray[np.float32]

_TINY = np.float32(1e-30)
_NEGLIGIBLE = 1e-5
_BATCH = 1 << 18


@dataclass(frozen=True, eq=False)
class InformationTable:
    """P(outcome, not cured | particle) as one (F, T * O) table in single precision, and each repair's first and end."""

    flat: Singles
    spans: tuple[tuple[int, int], ...]
    tests: int


def information_table(model: PlanningModel) -> InformationTable:
    """Return the table that `test_information` reads."""
    particles = len(model.prior)
    flat = model.joint.transpose(1, 0, 2).astype(np.float32, order="C").reshape(particles, -1)
    spans = zip(model.starts.tolist(), [*model.starts[1:].tolist(), particles], strict=True)
    return InformationTable(flat, tuple(spans), len(model.tests))


def test_information(table: InformationTable, belief: Floats, chance: Floats) -> Floats:
    """(N, T) float [nat], expected fall of the entropy over repairs from taking each test.

    A cure seen by the test leaves nothing open, whatever its repair was.

    Parameters
    ----------
    belief : (N, F) float
    chance : (N, R) float
        The same belief summed over each repair's particles.
    """
    if table.tests == 0 or not len(belief):
        return np.zeros((len(belief), table.tests))
    single, possible = belief.astype(np.float32), chance > _NEGLIGIBLE
    left = np.empty((len(belief), table.tests))
    for rows in _batches(possible.sum(axis=1), table.flat.shape[1]):
        left[rows] = _entropy_left(table, single[rows], possible[rows])
    return np.maximum(entropy(chance)[:, None] - left, 0.0)


def outcomes_by_repair(table: InformationTable, belief: Singles, repair: int) -> Singles:
    """(N, T * O) float, P(repair, outcome of each test) in each of N beliefs (N, F)."""
    first, end = table.spans[repair]
    return np.asarray(belief[:, first:end] @ table.flat[first:end])


def _batches(count: Ints, width: int) -> list[Ints]:
    """Rows in batches of like `count` of possible repairs, each batch small enough for the processor's cache."""
    order = np.argsort(count, kind="stable")
    size = max(1, _BATCH // (width * max(1, int(count.max()))))
    return [order[i : i + size] for i in range(0, len(order), size)]


def _entropy_left(table: InformationTable, belief: Singles, possible: NDArray[np.bool_]) -> Floats:
    """(N, T) float, entropy over repairs expected after each test, from the repairs that are still possible."""
    slot = np.cumsum(possible, axis=1) - 1
    joint = np.zeros((len(belief), int(slot.max()) + 1, table.flat.shape[1]), dtype=np.float32)
    for r in np.flatnonzero(possible.any(axis=0)).tolist():
        rows = np.flatnonzero(possible[:, r])
        joint[rows, slot[rows, r]] = outcomes_by_repair(table, belief[rows], r)
    spread = _x_log_x(joint.sum(axis=1)) - _x_log_x(joint).sum(axis=1)
    outcomes = spread.shape[1] // table.tests
    # A product with ones is several times faster than a sum over a short last axis.
    return (spread.reshape(-1, outcomes) @ np.ones(outcomes, dtype=np.float32)).reshape(len(belief), table.tests)


def entropy(chance: Floats) -> Floats:
    """(...,) float [nat], Shannon entropy over the last axis."""
    return np.asarray(-(chance * np.log(np.maximum(chance, 1e-300))).sum(axis=-1))


def binary_entropy(chance: Floats) -> Floats:
    """Entropy of one yes-or-no event of the given probability [nat]."""
    p = np.clip(chance, 1e-300, 1.0)
    q = np.clip(1.0 - chance, 1e-300, 1.0)
    return np.asarray(-(p * np.log(p) + q * np.log(q)))


def _x_log_x(x: Singles) -> Singles:
    return x * np.log(np.maximum(x, _TINY))
