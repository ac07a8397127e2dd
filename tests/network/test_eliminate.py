"""Star-mesh elimination against dense solvers and exact rational arithmetic."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.errors import NetworkError, SingularError
from proveout.network.eliminate import Cells, Elimination, Row, carry, recover
from proveout.network.laws import Array

Pairs = Mapping[tuple[int, int], float]


def plan_and_cells(
    size: int, between: Pairs, ground: Sequence[float], stage: Sequence[int] | None = None
) -> tuple[Elimination, Cells]:
    plan = Elimination([f"n{k}" for k in range(size)], sorted(between), stage)
    cells = Cells([None] * len(plan.edge), [None] * size, [None] * size)
    for (i, j), g in between.items():
        plan.stamp(cells, i, j, np.array([g]), None)
    for node, g in enumerate(ground):
        if g > 0:
            plan.stamp(cells, node, size, np.array([g]), None)
    return plan, cells


def star_mesh(size: int, between: Pairs, ground: Sequence[float], flow: Sequence[float]) -> Array:
    plan, cells = plan_and_cells(size, between, ground)
    return plan.solve(plan.factor(cells), np.array(flow)[:, None])[:, 0]


def nodal_matrix(size: int, between: Pairs, ground: Sequence[float]) -> Array:
    matrix = np.diag(np.array(ground, dtype=float))
    for (i, j), g in between.items():
        matrix[[i, j], [i, j]] += g
        matrix[i, j] -= g
        matrix[j, i] -= g
    return matrix


def exact(size: int, between: Pairs, ground: Sequence[float], flow: Sequence[float]) -> list[Fraction]:
    """Solve the nodal equations by Gauss-Jordan elimination in rational numbers."""
    rows = [[Fraction(0)] * size + [Fraction(q)] for q in flow]
    for k, g in enumerate(ground):
        rows[k][k] += Fraction(g)
    for (i, j), g in between.items():
        for a, b in ((i, j), (j, i)):
            rows[a][a] += Fraction(g)
            rows[a][b] -= Fraction(g)
    for k in range(size):
        pivot = next(r for r in range(k, size) if rows[r][k] != 0)
        rows[k], rows[pivot] = rows[pivot], rows[k]
        rows[k] = [x / rows[k][k] for x in rows[k]]
        for r in range(size):
            if r != k and rows[r][k] != 0:
                rows[r] = [x - rows[r][k] * y for x, y in zip(rows[r], rows[k], strict=True)]
    return [row[-1] for row in rows]


@st.composite
def networks(
    draw: st.DrawFn, low: float, high: float
) -> tuple[int, dict[tuple[int, int], float], list[float], list[float]]:
    """Draw a network: a size, conductances 10^low to 10^high between some pairs, all nodes held to ground, flows in."""
    size = draw(st.integers(1, 7))
    power = st.floats(low, high)
    pairs = [(i, j) for j in range(size) for i in range(j)]
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True)) if pairs else []
    between = {pair: 10.0 ** draw(power) for pair in chosen}
    ground = [10.0 ** draw(power) for _ in range(size)]
    flow = [draw(st.just(0.0) | st.floats(1e-12, 1.0)) for _ in range(size)]
    return size, between, ground, flow


@given(networks(-1.5, 1.5))
def test_it_agrees_with_a_dense_solver_on_well_held_networks(
    drawn: tuple[int, dict[tuple[int, int], float], list[float], list[float]],
) -> None:
    size, between, ground, flow = drawn
    dense = np.linalg.solve(nodal_matrix(size, between, ground), np.array(flow))
    np.testing.assert_allclose(star_mesh(*drawn), dense, rtol=1e-9, atol=1e-12)


@given(networks(-12.0, 3.0))
def test_every_digit_is_kept_over_fifteen_decades_of_conductance(
    drawn: tuple[int, dict[tuple[int, int], float], list[float], list[float]],
) -> None:
    found, true = star_mesh(*drawn), exact(*drawn)
    for one, other in zip(found.tolist(), true, strict=True):
        assert abs(Fraction(one) - other) <= abs(other) * Fraction(1, 10**13)


def test_a_node_held_by_a_picosiemens_alone_is_exact_where_dense_elimination_loses_its_digits() -> None:
    between, ground, flow = {(0, 1): 300.0, (1, 2): 700.0}, [0.0, 0.0, 1e-12], [1e-12, 2e-12, 3e-12]
    true = np.array([float(v) for v in exact(3, between, ground, flow)])
    found = star_mesh(3, between, ground, flow)
    dense = np.linalg.solve(nodal_matrix(3, between, ground), np.array(flow))
    np.testing.assert_allclose(found, true, rtol=1e-15)
    assert np.abs(dense / true - 1.0).max() > 1e-4


@given(networks(-6.0, 3.0), st.data())
def test_the_order_of_elimination_changes_nothing(
    drawn: tuple[int, dict[tuple[int, int], float], list[float], list[float]], data: st.DataObject
) -> None:
    size, between, ground, flow = drawn
    stage = [data.draw(st.integers(0, 2)) for _ in range(size)]
    plan, cells = plan_and_cells(size, between, ground, stage)
    rows: list[Row] = [np.array([q]) for q in flow]
    effort = np.zeros((size, 1))
    factors = []
    for steps in plan.stages:
        factors.append(plan.reduce(cells, steps))
        carry(factors[-1], rows)
    for factor in reversed(factors):
        recover(factor, rows, effort)
    np.testing.assert_allclose(effort[:, 0], star_mesh(*drawn), rtol=1e-13)


def test_a_batch_and_several_injections_are_solved_at_once() -> None:
    rng = np.random.default_rng(5)
    plan = Elimination(["a", "b", "c"], [(0, 1), (1, 2), (0, 2)])
    between, ground = rng.uniform(0.1, 2.0, (3, 40)), rng.uniform(0.1, 2.0, (3, 40))
    injection = rng.normal(size=(3, 2, 40))
    factor = plan.factor(Cells(list(between), list(ground), [None] * 3))
    found = plan.solve(factor, injection)
    for k in range(40):
        pairs = {pair: float(between[edge, k]) for pair, edge in list(plan.edge.items())[:3]}
        matrix = nodal_matrix(3, pairs, ground[:, k].tolist())
        np.testing.assert_allclose(found[:, :, k], np.linalg.solve(matrix, injection[:, :, k]), rtol=1e-12, atol=1e-13)


def test_a_node_that_nothing_holds_is_named() -> None:
    with pytest.raises(SingularError, match=r"node 'n[01]' is held by nothing.*give the circuit a leakage"):
        star_mesh(2, {(0, 1): 1.0}, [0.0, 0.0], [1.0, 0.0])


def test_a_node_with_an_infinite_conductance_is_named() -> None:
    with pytest.raises(NetworkError, match="a conductance at node 'n0' is infinite; give every closed branch"):
        star_mesh(1, {}, [np.inf], [1.0])


def test_a_branch_with_both_ends_on_one_node_counts_for_nothing() -> None:
    plan, cells = plan_and_cells(1, {}, [2.0])
    plan.stamp(cells, 0, 0, np.array([5.0]), np.array([1.0]))
    assert plan.solve(plan.factor(cells), [np.array([1.0])])[0, 0] == 0.5
