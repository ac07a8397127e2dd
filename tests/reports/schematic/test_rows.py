"""Heights of rows under demands."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.reports.schematic.rows import Rows


def test_rows_keep_their_distances_and_joined_rows_stand_level() -> None:
    rows = Rows()
    rows.space("a", "b", 20.0)
    rows.space("c", "d", 50.0)
    assert rows.align("a", "c")
    assert rows.align("b", "d")
    y = rows.solve([])
    assert y["a"] == y["c"] == 0.0
    assert y["b"] == y["d"] == 50.0


def test_rows_that_cross_cannot_both_stand_level() -> None:
    rows = Rows()
    rows.space("a", "b", 20.0)
    rows.space("c", "d", 20.0)
    assert rows.align("a", "d")
    assert not rows.align("b", "c")


def test_a_bound_forbids_a_row_that_would_be_drawn_too_far_out() -> None:
    rows = Rows()
    rows.space("a", "b", 20.0)
    rows.bound("a", "b", 30.0)
    rows.space("c", "d", 100.0)
    assert rows.align("a", "c")
    assert not rows.align("b", "d")


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(1, 60)), max_size=20),
    st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=10),
)
def test_all_demands_hold_whatever_is_aligned(
    demands: list[tuple[int, int, int]], pairs: list[tuple[int, int]]
) -> None:
    rows = Rows()
    forward = [(a, b, d) for a, b, d in demands if a < b]
    for a, b, d in forward:
        rows.space(str(a), str(b), float(d))
    aligned = [(a, b) for a, b in pairs if rows.align(str(a), str(b))]
    y = rows.solve([[str(a), str(b)] for a, b in pairs])
    for a, b, d in forward:
        assert y[str(b)] - y[str(a)] >= d - 1.0
    for a, b in aligned:
        assert y[str(a)] == y[str(b)]
