"""Flow charts on paper and in the terminal."""

from __future__ import annotations

from itertools import combinations
from typing import Literal
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.reports.chart_drawing import chart_pictures, draw_chart
from proveout.reports.chart_tree import ChartNode, chart_text, walk
from proveout.reports.svg import Box, Picture, Polygon, Text

Papers = Literal["a4", "letter"]


@st.composite
def _trees(draw: st.DrawFn) -> ChartNode:
    """Draw a chart of up to about eighty boxes, some of which are reached twice."""
    count = 0
    made: list[ChartNode] = []

    def node(depth: int) -> ChartNode:
        nonlocal count
        if made and draw(st.integers(0, 9)) == 0:
            return draw(st.sampled_from(made))
        count += 1
        number = str(count)
        words = draw(
            st.sampled_from(["reference at the control unit", "look", "signal wire end to end, both unplugged"])
        )
        if depth == 0 or count > 80:
            made.append(ChartNode(number, (words,), draw(st.sampled_from(["finding", "stop"]))))
            return made[-1]
        children = tuple((f"result {i}", node(depth - 1)) for i in range(draw(st.integers(1, 4))))
        made.append(ChartNode(number, (words, "key on", "2 min"), "action", children))
        return made[-1]

    return node(draw(st.integers(0, 5)))


def _boxes(picture: Picture) -> list[Polygon]:
    return [s for s in picture.shapes if isinstance(s, Polygon) and s.radius]


def _words(pictures: tuple[Picture, ...]) -> list[str]:
    return [s.text for picture in pictures for s in picture.shapes if isinstance(s, Text)]


@settings(max_examples=25, deadline=None)
@given(_trees(), st.sampled_from(["a4", "letter"]))
def test_every_box_stands_once_and_no_two_overlap(root: ChartNode, paper: Papers) -> None:
    pictures = chart_pictures(root, title="Chart", paper=paper)
    assert sum(len(_boxes(picture)) for picture in pictures) == len(list(walk(root)))
    for picture in pictures:
        boxes = [(s.text, s.box) for s in picture.shapes if isinstance(s, Text)]
        page = Box(0, 0, picture.width, picture.height)
        for words, box in boxes:
            assert page.contains(box), words
        for (first, box), (second, other) in combinations(boxes, 2):
            assert not box.overlaps(other), (first, second)


@settings(max_examples=25, deadline=None)
@given(_trees())
def test_a_reference_names_the_page_on_which_its_box_stands(root: ChartNode) -> None:
    pictures = chart_pictures(root, title="Chart")
    where = {
        s.text: number
        for number, picture in enumerate(pictures, 1)
        for s in picture.shapes
        if isinstance(s, Text) and s.bold and s.text.isdecimal()
    }
    for word in _words(pictures):
        if word.startswith("go on at "):
            node, page = word.removeprefix("go on at ").split(", page ")
            assert where[node] == int(page)


@given(_trees(), st.integers(40, 120))
@settings(max_examples=25, deadline=None)
def test_the_text_names_every_box_once_and_keeps_to_the_width(root: ChartNode, width: int) -> None:
    lines = chart_text(root, title="Chart", width=width).splitlines()
    heads = [line.lstrip("│├└─ ").split("  ")[0] for line in lines[2:]]
    for node in walk(root):
        assert heads.count(node.id) == 1
    assert all(len(line) <= max(width, 30 + 3 * 6 + 3) for line in lines)


def test_a_chart_too_large_for_one_page_goes_on_on_the_next() -> None:
    leaf = 0

    def tree(depth: int) -> ChartNode:
        nonlocal leaf
        leaf += 1
        if depth == 0:
            return ChartNode(f"n{leaf}", ("repair",), "finding")
        return ChartNode(f"n{leaf}", ("measure",), "action", tuple((f"r{i}", tree(depth - 1)) for i in range(3)))

    pages = draw_chart(tree(4), title="Large")
    assert len(pages) > 1
    assert "page 2 of" in pages[1]
    assert "from n" in pages[1]
    for page in pages:
        ElementTree.fromstring(page)


def test_what_holds_for_every_box_stands_at_the_foot_of_the_first_page_only() -> None:
    words = "A reading outside all bands of a step: take it again."
    leaves = tuple((f"r{i}", ChartNode(f"n{i}", ("repair",), "finding")) for i in range(40))
    halves = tuple((f"h{k}", ChartNode(f"m{k}", ("look",), "action", leaves[20 * k : 20 * k + 20])) for k in (0, 1))
    first, *others = chart_pictures(ChartNode("1", ("measure",), "action", halves), title="Two", standing=words)
    assert others
    assert words in _words((first,))
    assert words not in _words(tuple(others))
    boxes = [s.box for s in first.shapes if isinstance(s, Text)]
    assert not any(a.overlaps(b) for a, b in combinations(boxes, 2))
    (foot,) = [s.box for s in first.shapes if isinstance(s, Text) and s.text == words]
    assert all(y < foot.y0 for box in _boxes(first) for _, y in box.points)


def test_pages_have_the_shape_of_their_paper() -> None:
    """ISO 216: A4 is 297 x 210 mm; US Letter is 11 x 8.5 in (ANSI/ASME Y14.1)."""
    root = ChartNode("1", ("repair",), "finding")
    (a4,) = chart_pictures(root, title="One", paper="a4")
    (letter,) = chart_pictures(root, title="One", paper="letter")
    assert a4.width / a4.height == pytest.approx(297 / 210, rel=2e-3)
    assert letter.width / letter.height == pytest.approx(11 / 8.5, rel=2e-3)
