"""Room of words, lines broken, and text that stays text."""

from __future__ import annotations

from xml.etree import ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.reports.svg import Box, Picture, Text, text_width, to_svg, wrap


def test_dejavu_sans_fits_the_room_we_reckon_with() -> None:
    """Advance widths of DejaVu Sans 2.37 at 2048 units an em: W 2025, i 569, a 1255 (its hmtx table)."""
    assert text_width("W", 2048.0) >= 2025
    assert text_width("i", 2048.0) >= 569
    assert text_width("a", 2048.0) >= 1255
    assert text_width("a", 2048.0) < 1.1 * 1255


@settings(deadline=None)
@given(st.text(min_size=1), st.floats(30.0, 300.0))
def test_wrapped_lines_fit_and_lose_nothing(text: str, width: float) -> None:
    lines = wrap(text, width, 10.0)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(text_width(line, 10.0) <= width or len(line) == 1 for line in lines)


@settings(deadline=None)
@given(st.text())
def test_any_text_comes_back_from_the_svg(text: str) -> None:
    svg = to_svg(Picture(100.0, 50.0, text, text, (Text(1.0, 10.0, text),)))
    tree = ElementTree.fromstring(svg.encode("utf-8", "replace"))
    assert {element.tag.rsplit("}", 1)[-1] for element in tree.iter()} == {"svg", "title", "desc", "rect", "text"}
    shown = "".join(tree.itertext())
    printable = "".join(c for c in text if c >= " " and c.isprintable())
    assert all(c in shown for c in printable)


def test_boxes_that_share_only_an_edge_do_not_overlap() -> None:
    assert not Box(0, 0, 1, 1).overlaps(Box(1, 0, 2, 1))
    assert Box(0, 0, 1.1, 1).overlaps(Box(1, 0, 2, 1))
