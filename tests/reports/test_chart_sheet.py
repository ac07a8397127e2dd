"""A derived chart as plain data: kept and read back, drawn, and followed by what a case has learnt."""

from __future__ import annotations

import re

import pytest

from diagnosis.ready import derived
from proveout.diagnosis.evidence import Evidence, OutcomeSeen, ReadingTaken
from proveout.diagnosis.proof import prove_chart
from proveout.errors import InputError
from proveout.instruments import Reading
from proveout.reports import draw_chart
from proveout.reports.chart_nodes import chart_nodes
from proveout.reports.chart_print import render_chart_pdf
from proveout.reports.chart_sheet import ChartSheet, SheetBranch, SheetNode, Taken, chart_sheet, read_chart_sheet

NAME = "coolant-ntc"


@pytest.fixture(scope="module")
def kept() -> ChartSheet:
    """Return the chart of a ready circuit with its proof."""
    chart = derived(NAME)
    return chart_sheet(chart, prove_chart(chart))


def _reading(value: float | None) -> Reading:
    return Reading.over("V") if value is None else Reading(value, False, f"{value} V", "V")


def _small() -> ChartSheet:
    """Return a chart by hand: a voltage, then a look."""
    bands = (
        SheetBranch("below 1", 2, high=1.0),
        SheetBranch("1 to 3", 3, low=1.0, high=3.0),
        SheetBranch("OL", 2, over_limit=True),
    )
    looks = (SheetBranch("green", 4, outcome="green"), SheetBranch("clean", 2, outcome="clean"))
    nodes = (
        SheetNode(1, "action", ("Measure",), "measure", "volts", bands),
        SheetNode(2, "stop", ("Stop",)),
        SheetNode(3, "action", ("Look",), "look", "plug", looks),
        SheetNode(4, "finding", ("Renew the terminal",)),
    )
    return ChartSheet("By hand", "", 1, {node.number: node for node in nodes}, {})


def test_a_chart_is_read_back_as_it_was_kept(kept: ChartSheet) -> None:
    again = read_chart_sheet(kept.text())
    assert again == kept
    assert again.tree() == kept.tree()


def test_it_draws_what_the_chart_itself_draws(kept: ChartSheet) -> None:
    chart = derived(NAME)
    own = draw_chart(chart_nodes(chart), title=chart.title, standing=chart.standing)
    assert draw_chart(kept.tree(), title=kept.title, standing=kept.standing) == own


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"form": 0, "nodes": []}', '{"form": 1, "nodes": [{}]}'])
def test_what_is_no_kept_chart_is_derived_anew(text: str) -> None:
    with pytest.raises(InputError, match="derived anew"):
        read_chart_sheet(text)


def test_the_way_of_a_case_goes_as_far_as_its_readings_answer_the_chart() -> None:
    chart = _small()
    assert chart.taken(()) == Taken((1,), ())
    assert chart.taken([ReadingTaken("other", _reading(2.0))]) == Taken((1,), ())
    assert chart.taken([ReadingTaken("volts", _reading(2.0))]) == Taken((1, 3), (1,))
    seen: list[Evidence] = [OutcomeSeen("look", "plug", "green"), ReadingTaken("volts", _reading(2.0))]
    assert chart.taken(seen) == Taken((1, 3, 4), (1, 0))
    assert chart.taken([ReadingTaken("volts", _reading(None))]) == Taken((1, 2), (2,))


def test_a_reading_taken_again_counts_in_place_of_the_first() -> None:
    twice: list[Evidence] = [ReadingTaken("volts", _reading(2.0)), ReadingTaken("volts", _reading(0.5))]
    assert _small().taken(twice) == Taken((1, 2), (0,))


def test_a_reading_outside_all_bands_stays_at_its_box_and_says_so() -> None:
    assert _small().taken([ReadingTaken("volts", _reading(7.0))]) == Taken((1,), (), outside=True)


def test_what_was_so_before_the_vehicle_came_in_is_no_step_taken() -> None:
    nodes = {1: SheetNode(1, "action", ("Watch",), "watch", "start", (SheetBranch("late", 2, outcome="late"),))}
    chart = ChartSheet("", "", 1, {**nodes, 2: SheetNode(2, "stop", ("Stop",))}, {})
    assert chart.taken([OutcomeSeen("behaviour", "start", "late", past=True)]) == Taken((1,), ())
    assert chart.taken([OutcomeSeen("behaviour", "start", "late")]) == Taken((1, 2), (0,))


def test_the_way_is_drawn_by_heavy_lines_and_signs_and_said_at_the_foot() -> None:
    chart = _small()
    plain = draw_chart(chart.tree(), title="x")[0]
    lit = draw_chart(chart.tree(), title="x", path=[("1", "1 to 3"), ("3", "")])[0]
    assert "way of this case" not in plain
    assert "way of this case" in lit
    heavy = re.findall(r'stroke-width="3.4"', lit)
    # Two boxes and the one line between them, not that of the other result which leads elsewhere.
    assert len(heavy) == 3
    assert 'stroke-width="3.4"' not in plain


def test_the_pages_are_printed_as_pdf_the_same_each_time(kept: ChartSheet) -> None:
    pages = draw_chart(kept.tree(), title=kept.title)
    for paper, size in (("a4", b"841.8898"), ("letter", b"792")):
        content = render_chart_pdf(pages, title=kept.title, paper=paper)  # type: ignore[arg-type]
        assert content.startswith(b"%PDF")
        assert content == render_chart_pdf(pages, title=kept.title, paper=paper)  # type: ignore[arg-type]
        # Widths in points: ISO 216 A4 is 297 mm long, US Letter 11 in.
        assert size in content
