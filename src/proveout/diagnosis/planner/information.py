"""What a test is expected to tell about the repair: mutual information between outcome and repair.

Entropy is taken over repairs, not particles: knowing how badly a terminal is corroded is worth nothing by itself
(Heckerman, Breese and Rommelse, 1995, "Decision-theoretic troubleshooting").
"""

from __future__ import annotations

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
Singles = NDArray[np.float32]

_TINY = np.float32(1e-30)
_CHUNK = 1 << 18


class InformationTable:
    """The joint table laid out for one matrix product per repair, in single precision.

    Parameters
    ----------
    model : PlanningModel
        `slices` holds, per repair, the (particles, tests x outcomes) table.
    """

    def __init__(self, model: PlanningModel) -> None:
        tests, particles, outcomes = model.joint.shape
        flat = model.joint.transpose(1, 0, 2).reshape(particles, tests * outcomes).astype(np.float32)
        ends = [*model.starts[1:].tolist(), particles]
        self.bounds = list(zip(model.starts.tolist(), ends, strict=True))
        self.slices = [flat[i:j] for i, j in self.bounds]
        self.shape = (tests, outcomes)


def information_table(model: PlanningModel) -> InformationTable:
    """Return the table that `test_information` reads."""
    return InformationTable(model)


def outcomes_by_repair(table: InformationTable, belief: Floats) -> Singles:
    """(R, N, T * O) float, P(repair, outcome of each test) in each of N beliefs (N, F)."""
    single = belief.astype(np.float32)
    shape = (len(table.slices), len(belief), table.shape[0] * table.shape[1])
    joint = np.empty(shape, dtype=np.float32)
    for r, (i, j) in enumerate(table.bounds):
        np.matmul(single[:, i:j], table.slices[r], out=joint[r])
    return joint


def test_information(table: InformationTable, belief: Floats, chance: Floats) -> Floats:
    """(N, T) float [nat], expected fall of the entropy over repairs from taking each test.

    A cure seen by the test leaves nothing open, whatever its repair was.

    Parameters
    ----------
    belief : (N, F) float
    chance : (N, R) float
        The same belief summed over each repair's particles.
    """
    tests, outcomes = table.shape
    if tests == 0:
        return np.zeros((len(belief), 0))
    size = max(1, _CHUNK // max(1, len(table.slices) * tests * outcomes))
    left = np.empty((len(belief), tests))
    for i in range(0, len(belief), size):
        joint = outcomes_by_repair(table, belief[i : i + size])
        total = joint.sum(axis=0)
        spread = _x_log_x(total) - _x_log_x(joint).sum(axis=0)
        left[i : i + size] = spread.reshape(-1, tests, outcomes).sum(axis=2)
    return np.maximum(entropy(chance)[:, None] - left, 0.0)


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
