"""Difficulty follows from the model: who looks alike, how mild the fault is, whether it comes and goes."""

from __future__ import annotations

import numpy as np
import pytest

from practice.compiled import model
from proveout.circuits import ready_names
from proveout.practice.difficulty import DIFFICULTIES, rank


@pytest.mark.slow
@pytest.mark.parametrize("name", ready_names())
def test_every_ready_circuit_has_vehicles_of_every_difficulty(name: str) -> None:
    ranking = rank(model(name))
    for difficulty in DIFFICULTIES:
        assert ranking.chance[difficulty].sum() == pytest.approx(1.0)


@pytest.mark.parametrize("name", ["coolant-ntc", "crank-hall-5v", "starter"])
def test_no_easy_fault_has_more_suspects_alike_than_a_medium_one_nor_that_than_a_steady_hard_one(name: str) -> None:
    m = model(name)
    ranking, steady = rank(m), m.hypotheses.presence >= 1.0
    alike = [ranking.alike[(ranking.chance[d] > 0) & steady] for d in DIFFICULTIES]
    assert alike[0].max() <= alike[1].min()
    assert alike[1].max() <= alike[2].min()


@pytest.mark.parametrize("name", ["coolant-ntc", "crank-hall-5v"])
def test_what_comes_and_goes_is_hard(name: str) -> None:
    m = model(name)
    chance, coming = rank(m).chance, m.hypotheses.presence < 1.0
    assert chance["easy"][coming].sum() == chance["medium"][coming].sum() == 0.0
    assert chance["hard"][coming].sum() > 0.02


def test_two_open_terminals_of_one_signal_line_look_alike_until_a_plug_is_reached() -> None:
    # In series, both stop the same current: common practice.
    m = model("crank-hall-5v")
    ranking = rank(m)
    for reference in ("t_cs_ref.open", "t_ce_ref.open"):
        variant = m.references.index(reference)
        rows = (m.hypotheses.variant == variant) & (m.hypotheses.presence >= 1.0)
        assert np.all(ranking.alike[rows] >= 2)


def test_a_third_of_all_faults_with_a_complaint_is_easy() -> None:
    m = model("coolant-ntc")
    ranking, steady = rank(m), m.hypotheses.presence >= 1.0
    shares = [float(m.hypotheses.prior[(ranking.chance[d] > 0) & steady].sum()) for d in DIFFICULTIES]
    assert shares == pytest.approx([sum(shares) / 3] * 3, rel=0.15)
