"""Recorded signals drawn: every sample lies within the drawing's curve, marks where they belong, wheels ray by ray."""

from __future__ import annotations

import re

import numpy as np
import pytest

from proveout.captures.analysis.by_angle import OverTurn
from proveout.captures.findings import Mark, WheelPicture
from proveout.reports.svg import Polyline, Text
from proveout.reports.trace_figure import LEFT, ROW, TOP, WIDTH, Trace, draw_traces, traces_picture
from proveout.reports.wheel_figure import draw_turn, draw_wheel, wheel_picture


def _extremes(values: np.ndarray) -> np.ndarray:
    return np.stack([values, values], axis=1)


def test_the_curve_reaches_from_the_least_to_the_most_of_each_column() -> None:
    extremes = np.array([[0.0, 1.0], [0.2, 0.8], [-1.0, 3.0]])
    shapes = traces_picture([Trace("x", "V", extremes)], 0.0, 3.0, title="t").shapes
    curve = next(s for s in shapes if isinstance(s, Polyline) and s.role == "trace")
    heights = np.array([y for _, y in curve.points])
    # -1 V and 3 V with 6 % of room on either side.
    assert heights.max() == pytest.approx(TOP + ROW - ROW * 0.24 / 4.48)
    assert heights.min() == pytest.approx(TOP + ROW - ROW * 4.24 / 4.48)
    assert len(curve.points) == 6


def test_a_gap_in_the_record_is_a_gap_in_the_curve() -> None:
    values = np.array([1.0, 2.0, np.nan, 1.0, 2.0])
    shapes = traces_picture([Trace("x", "V", _extremes(values))], 0.0, 5.0, title="t").shapes
    assert sum(isinstance(s, Polyline) and s.role == "trace" for s in shapes) == 2


def test_few_samples_are_joined() -> None:
    values = np.full(100, np.nan)
    values[::10] = np.arange(10)
    shapes = traces_picture([Trace("x", "V", _extremes(values))], 0.0, 1.0, title="t").shapes
    (curve,) = [s for s in shapes if isinstance(s, Polyline) and s.role == "trace"]
    assert len(curve.points) == 10


def test_marks_stand_at_their_times_on_their_channel_only() -> None:
    traces = [Trace(name, "V", _extremes(np.zeros(4))) for name in ("a", "b")]
    marks = [Mark("lost tooth", "a", 1.0, 1.0), Mark("dropout", "b", 2.0, 3.0), Mark("glitch", "a", 9.0, 9.0)]
    shapes = traces_picture(traces, 0.0, 4.0, marks, title="t").shapes
    lines = [s for s in shapes if isinstance(s, Polyline) and s.role == "mark"]
    assert [line.points[0][0] for line in lines] == [pytest.approx(LEFT + WIDTH / 4)]
    words = [s.text for s in shapes if isinstance(s, Text)]
    assert "lost tooth" in words
    assert "dropout" in words
    assert "glitch" not in words


def test_the_capture_beside_is_drawn_broken() -> None:
    trace = Trace("x", "V", _extremes(np.zeros(4)), _extremes(np.ones(4)))
    curves = [
        s for s in traces_picture([trace], 0.0, 1.0, title="t").shapes if isinstance(s, Polyline) and s.role == "trace"
    ]
    assert [bool(curve.dash) for curve in curves] == [False, True]


def test_names_are_escaped() -> None:
    assert "<script" not in draw_traces([Trace("<script>", "V", _extremes(np.zeros(3)))], 0.0, 1.0, title="<b>")


def test_a_wheel_has_a_ray_for_each_tooth_where_it_stands() -> None:
    angles = tuple(k / 36 for k in range(35))
    shapes = wheel_picture(WheelPicture("crank", "36-1", angles)).shapes
    rays = [s for s in shapes if isinstance(s, Polyline) and s.role == "tooth"]
    assert len(rays) == 35
    x, y = rays[9].points[-1]
    # A quarter of a turn to the right of the top.
    assert [x, y] == pytest.approx([375.0, 210.0])


def test_a_lost_tooth_is_told_by_form_and_number() -> None:
    lost = (0, 0, 3, 0)
    picture = wheel_picture(WheelPicture("cam", "4", (0.0, 0.25, 0.5, 0.75), lost=lost))
    assert sum(isinstance(s, Polyline) and s.role == "lost tooth" for s in picture.shapes) == 1
    assert any(isinstance(s, Text) and s.text == "3×" for s in picture.shapes)


def test_a_weak_tooth_has_a_short_ray() -> None:
    svg = draw_wheel(WheelPicture("crank", "", (0.0, 0.5), amplitude=(2.0, 1.0)))
    assert svg.startswith("<svg")
    strong, weak = [
        s.points
        for s in wheel_picture(WheelPicture("c", "", (0.0, 0.5), amplitude=(2.0, 1.0))).shapes
        if isinstance(s, Polyline) and s.role == "tooth"
    ]
    length = [abs(points[1][1] - points[0][1]) for points in (strong, weak)]
    assert length[1] == pytest.approx(0.5 * length[0])


def test_two_captures_over_one_turn_are_drawn_in_degrees() -> None:
    angles = (np.arange(90) + 0.5) / 90
    wave = np.sin(2 * np.pi * angles)
    over = OverTurn(angles, wave, wave, wave, 3)
    svg = draw_turn("crank", "V", over, over)
    assert len(re.findall(r"stroke-dasharray", svg)) == 1
    assert "360°" in svg or "350°" in svg or "300°" in svg
