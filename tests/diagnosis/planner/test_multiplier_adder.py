"""The multiplier-adder example of de Kleer and Williams, 'Diagnosing multiple faults' (1987).

Artificial Intelligence 32, pages 97 to 130; its numbers by enumeration. X = A C, Y = B D, Z = C E, F = X + Y, G = Y + Z
with A = 3, B = 2, C = 2, D = 3, E = 3; seen F = 10 and G = 12; each of the five components fails with probability 0.01
and then gives anything. Every set of failed components is one particle; what is seen enters by `after_outcome`, probes
are the planner's tests.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from proveout.diagnosis.planner import DecisionProblem, plan
from proveout.diagnosis.planner.base import step_index
from proveout.diagnosis.planner.information import entropy
from proveout.diagnosis.planner.model import pack, start
from proveout.diagnosis.planner.problem import after_outcome, outcome_chances
from proveout.diagnosis.planner.tree import layer_of, workbench

COMPONENTS = ("M1", "M2", "M3", "A1", "A2")
NODES = ("X", "Y", "Z", "F", "G")
FAILS = 0.01
SEEN = {"F": 10.0, "G": 12.0}
LAWS = {
    "M1": ({"X": 1.0}, 6.0),
    "M2": ({"Y": 1.0}, 6.0),
    "M3": ({"Z": 1.0}, 6.0),
    "A1": ({"F": 1.0, "X": -1.0, "Y": -1.0}, 0.0),
    "A2": ({"G": 1.0, "Y": -1.0, "Z": -1.0}, 0.0),
}
CANDIDATES = [frozenset(c for c, f in zip(COMPONENTS, bad, strict=True) if f) for bad in product((0, 1), repeat=5)]
PROBES = ("X", "Y", "Z")
VALUES = (4.0, 6.0, 8.0)


def predicted(candidate: frozenset[str], node: str, seen: dict[str, float]) -> float | None:
    """The value of a node that the sound components force, or None where they leave it open."""
    laws = [LAWS[c] for c in COMPONENTS if c not in candidate] + [({n: 1.0}, v) for n, v in seen.items()]
    matrix = np.array([[law.get(n, 0.0) for n in NODES] for law, _ in laws]).reshape(len(laws), len(NODES))
    right = np.array([value for _, value in laws])
    goal = np.array([float(n == node) for n in NODES])
    combination, *_ = np.linalg.lstsq(matrix.T, goal, rcond=None)
    forced = np.allclose(matrix.T @ combination, goal)
    return round(float(combination @ right), 6) if forced else None


def agrees(node: str, value: float, seen: dict[str, float]) -> np.ndarray:
    """P(value seen, not seen | candidate): a candidate that leaves the node open agrees with every value."""
    found = [predicted(c, node, seen) for c in CANDIDATES]
    ok = np.array([v is None or v == value for v in found], dtype=float)
    return np.column_stack([ok, 1.0 - ok])


def probe(node: str) -> np.ndarray:
    """P(4, 6, 8, anything else | candidate) of a probe; what is not predicted is one outcome."""
    found = [predicted(c, node, SEEN) for c in CANDIDATES]
    table = np.array([[v == value for value in VALUES] for v in found], dtype=float)
    return np.column_stack([table, 1.0 - table.sum(axis=1)])


def example() -> DecisionProblem:
    """F, G, X, Y, Z as tests of one cost; the repair of a candidate is that of all its components."""
    first = agrees("F", 10.0, {})
    second = agrees("G", 12.0, {"F": 10.0})
    tables = [np.pad(t, ((0, 0), (0, 4 - t.shape[1]))) for t in (first, second, *(probe(n) for n in PROBES))]
    tests, count = len(tables), len(CANDIDATES)
    problem = DecisionProblem(
        prior=np.array([FAILS ** len(c) * (1.0 - FAILS) ** (5 - len(c)) for c in CANDIDATES]),
        repair_of=np.arange(count),
        likelihood=np.stack(tables),
        test_cost=np.ones(tests),
        test_access=np.zeros((tests, 0), dtype=bool),
        test_setup=np.full(tests, -1),
        setup_cost=np.zeros(0),
        setup=-1,
        access_cost=np.zeros(0),
        opened=np.zeros(0, dtype=bool),
        repair_cost=np.array([100.0 * max(len(c), 1) for c in CANDIDATES]),
        repair_access=np.zeros((count, 0), dtype=bool),
    )
    return after_outcome(after_outcome(problem, 0, 0), 1, 0)


def test_only_supersets_of_the_four_minimal_diagnoses_are_left() -> None:
    left = [c for c, p in zip(CANDIDATES, example().prior, strict=True) if p > 0.0]
    minimal = [c for c in left if not any(other < c for other in left)]
    assert set(minimal) == {frozenset(c) for c in ({"M1"}, {"A1"}, {"M2", "M3"}, {"M2", "A2"})}


@pytest.mark.parametrize("component", ["M1", "A1"])
def test_posteriors_are_those_of_the_example(component: str) -> None:
    prior = example().prior
    assert prior[CANDIDATES.index(frozenset({component}))] == pytest.approx(0.47803, abs=5e-6)
    assert sum(p for c, p in zip(CANDIDATES, prior, strict=True) if component in c) == pytest.approx(0.49764, abs=5e-6)


@pytest.mark.parametrize(("node", "bits"), [("X", 1.041), ("Y", 0.082), ("Z", 0.047)])
def test_outcome_entropies_are_those_of_the_example(node: str, bits: float) -> None:
    problem = example()
    chances, cured = outcome_chances(problem, 2 + PROBES.index(node))
    assert cured == 0.0
    assert float(entropy(chances)) / np.log(2.0) == pytest.approx(bits, abs=5e-4)
    bench = workbench(pack(problem))
    root = layer_of(bench, start(bench.model))
    told = step_index(bench, root)[1][0] / np.log(2.0)
    assert told[bench.model.tests.tolist().index(2 + PROBES.index(node))] == pytest.approx(bits, abs=2e-3)


def test_x_is_measured_first() -> None:
    chosen = plan(example()).action
    assert (chosen.kind, chosen.index) == ("test", 2)
