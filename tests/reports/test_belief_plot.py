"""Belief over time: every line is told apart without colour, and nothing is hidden."""

from __future__ import annotations

from itertools import combinations
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.errors import InputError
from proveout.reports.belief_plot import OTHERS, SHOWN, STYLES, belief_picture, draw_belief
from proveout.reports.svg import Polyline, Text


def _shares(rng: np.random.Generator, suspects: int, steps: int) -> dict[str, np.ndarray]:
    weight = np.exp(np.cumsum(rng.normal(size=(suspects, steps)), axis=1))
    shares = weight / weight.sum(axis=0)
    return {f"suspect number {i}": row for i, row in enumerate(shares)}


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 12), st.integers(1, 30), st.integers(0, 2**32 - 1))
def test_words_never_overlap_and_stay_on_the_page(suspects: int, steps: int, seed: int) -> None:
    shares = _shares(np.random.default_rng(seed), suspects, steps)
    picture = belief_picture([f"reading {i}" for i in range(steps)], shares, conclusion=0.97)
    texts = [shape for shape in picture.shapes if isinstance(shape, Text)]
    for text in texts:
        assert text.box.x0 >= 0
        assert text.box.x1 <= picture.width
        assert text.box.y1 <= picture.height
    for first, second in combinations(texts, 2):
        assert not first.box.overlaps(second.box), (first.text, second.text)


def test_the_six_leading_suspects_are_drawn_and_the_rest_is_one_line() -> None:
    shares = _shares(np.random.default_rng(7), 12, 9)
    picture = belief_picture([str(i) for i in range(9)], shares)
    lines = [s for s in picture.shapes if isinstance(s, Polyline) and s.role == "belief"]
    assert len(lines) == SHOWN + 1
    words = " ".join(s.text for s in picture.shapes if isinstance(s, Text))
    assert OTHERS in words
    winner = max(shares, key=lambda title: shares[title][-1])
    assert f"{100 * shares[winner][-1]:.0f} %" in words


def test_lines_differ_by_dash_or_mark_not_by_colour_alone() -> None:
    assert len({(style.dash, style.mark) for style in STYLES}) == len(STYLES) >= SHOWN


def test_a_line_stands_at_its_probability() -> None:
    picture = belief_picture(["start", "after"], {"wire": np.array([0.25, 1.0]), "sensor": np.array([0.75, 0.0])})
    lines = [s for s in picture.shapes if isinstance(s, Polyline) and s.role == "belief"]
    grid = {s.points[0][1] for s in picture.shapes if isinstance(s, Polyline) and len(s.points) == 2}
    ys = {line.points for line in lines}
    heights = sorted({point[1] for line in ys for point in line})
    assert len(heights) == 4
    assert set(heights) <= grid


def test_wrong_lengths_and_values_are_refused() -> None:
    with pytest.raises(InputError, match="2 probabilities for 1 steps"):
        draw_belief(["start"], {"wire": np.array([0.5, 0.5])})
    with pytest.raises(InputError, match="outside 0 to 1"):
        draw_belief(["start"], {"wire": np.array([1.5])})
    with pytest.raises(InputError, match="no step"):
        draw_belief([], {})


def test_the_plot_is_xml() -> None:
    ElementTree.fromstring(draw_belief(["<start>"], {"a & b": np.array([1.0])}))
