"""Bins of a reading: between clusters, and their probabilities by scipy's normal distribution."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from proveout.diagnosis.bins import bin_chances, bin_edges, bin_edges_of_columns


def test_two_far_clusters_get_one_edge_midway() -> None:
    centre = np.array([0.0, 0.01, 5.0, 5.01])
    edges = bin_edges(centre, np.full(4, 0.02), np.full(4, 0.25), 10)
    assert edges == pytest.approx([2.505])


def test_values_that_no_meter_can_tell_apart_get_no_edge() -> None:
    assert len(bin_edges(np.array([5.0, 5.001]), np.full(2, 0.05), np.full(2, 0.5), 10)) == 0


def test_a_sweep_is_cut_all_along_but_no_more_than_asked() -> None:
    edges = bin_edges(np.linspace(0.0, 5.0, 200), np.full(200, 0.01), np.full(200, 1 / 200), 10)
    assert 6 <= len(edges) <= 9
    assert (np.diff(edges) > 0).all()


def test_what_has_no_probability_has_no_edge() -> None:
    centre, weight = np.array([0.0, 5.0, 1e12]), np.array([0.5, 0.5, 0.0])
    assert bin_edges(centre, np.full(3, 0.02), weight, 10) == pytest.approx([2.5])
    assert len(bin_edges(centre, np.full(3, 0.02), np.zeros(3), 10)) == 0


@given(st.integers(0, 10_000))
def test_several_readings_at_once_are_each_alone(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shape = (30, 4)
    centre, spread = rng.choice([0.0, 2.5, 5.0, 12.0], shape) + rng.normal(0, 0.3, shape), rng.uniform(0.01, 0.5, shape)
    weight = rng.random(shape) * (rng.random(shape) < 0.8)
    together = bin_edges_of_columns(centre, spread, weight, 8)
    for k, edges in enumerate(together):
        assert np.array_equal(edges, bin_edges(centre[:, k], spread[:, k], weight[:, k], 8))


@given(st.integers(0, 10_000))
def test_chances_are_those_of_normal_variables(seed: int) -> None:
    rng = np.random.default_rng(seed)
    centre, spread = rng.normal(0, 3, 6), rng.uniform(0.01, 2, 6)
    edges = np.sort(rng.normal(0, 3, 4))
    chances = bin_chances(centre, spread, edges)
    below = norm.cdf(edges[None, :], centre[:, None], spread[:, None])
    expected = np.diff(np.concatenate([np.zeros((6, 1)), below, np.ones((6, 1))], axis=1), axis=1)
    assert chances == pytest.approx(expected, abs=1e-12)
    assert chances.sum(axis=1) == pytest.approx(1.0)


def test_infinite_edges_leave_empty_bins() -> None:
    chances = bin_chances(np.array([1.0]), np.array([0.1]), np.array([1.0, np.inf, np.inf]))
    assert chances == pytest.approx(np.array([[0.5, 0.5, 0.0, 0.0]]))
