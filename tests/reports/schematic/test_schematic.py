"""What a set-up, a measurement and a finding add to the drawing."""

from __future__ import annotations

import pytest

from proveout.circuits import ready_circuit
from proveout.errors import InputError
from proveout.reports.schematic import Schematic, draw_schematic, lay_out
from proveout.reports.svg import Circle, Polyline, Text

CRANK = ready_circuit("crank-hall-5v")
PUMP = ready_circuit("fuel-pump")


def _words(drawing: Schematic) -> list[str]:
    return [shape.text for shape in drawing.picture.shapes if isinstance(shape, Text)]


def _leads(drawing: Schematic) -> list[Polyline]:
    return [s for s in drawing.picture.shapes if isinstance(s, Polyline) and s.role == "lead"]


def _badge(drawing: Schematic, letter: str) -> Text:
    return next(s for s in drawing.picture.shapes if isinstance(s, Text) and s.text == letter and s.size == 9.0)


def _lines_at(drawing: Schematic, net: str) -> list[Polyline]:
    return [s for s in drawing.picture.shapes if isinstance(s, Polyline) and s.net == net]


def test_the_leads_stand_on_the_wires_of_their_points() -> None:
    """Leads of 'feed at the open pump plug': red on the harness side of CP cavity 1, black on the body."""
    for name in ("plug_open_volts", "feed_ohms", "control_to_feed", "relay_drop", "coil_ohms"):
        test = PUMP.measurements[name]
        drawing = lay_out(PUMP, measurement=name)
        for letter, point in (("R", test.red), ("B", test.black)):
            badge = _badge(drawing, letter)
            lines = _lines_at(drawing, PUMP.points[point].node)
            levels = [
                (a, b) for line in lines for a, b in zip(line.points, line.points[1:], strict=False) if a[1] == b[1]
            ]
            height = badge.y - 3.3
            assert any(abs(a[1] - height) < 0.1 and min(a[0], b[0]) <= badge.x <= max(a[0], b[0]) for a, b in levels), (
                name,
                letter,
            )


def test_red_and_black_are_told_apart_without_colour() -> None:
    drawing = lay_out(PUMP, measurement="plug_open_volts")
    red, black = _leads(drawing)
    assert not red.dash
    assert black.dash
    words = _words(drawing)
    assert "red lead: pump plug cavity 1, harness side" in words
    assert "black lead: pump plug cavity 2, harness side" in words
    assert "meter: volts DC" in words


def test_an_unplugged_connector_stands_open_and_says_so() -> None:
    mated = lay_out(PUMP)
    apart = lay_out(PUMP, setup="pump_out")
    assert "unplugged" not in _words(mated)
    assert _words(apart).count("unplugged") == 1

    def width(drawing: Schematic) -> float:
        return drawing.places["cp_1"].x1 - drawing.places["cp_1"].x0

    assert width(apart) > width(mated) + 20.0


def test_a_part_taken_out_is_dashed_and_says_so() -> None:
    setup = PUMP.setups["key_off"].model_copy(update={"removed": ["fuse"]})
    circuit = PUMP.model_copy(update={"setups": {"fuse_out": setup}})
    drawing = lay_out(circuit, setup="fuse_out")
    assert "taken out" in _words(drawing)
    place = drawing.places["fuse"]
    inside = [
        s
        for s in drawing.picture.shapes
        if isinstance(s, Polyline) and s.role == "symbol" and all(place.x0 <= x <= place.x1 for x, _ in s.points)
    ]
    assert any(s.dash for s in inside if all(place.y0 <= y <= place.y1 for _, y in s.points))


@pytest.mark.parametrize("fault", ["w_ref", "w_ref.open", "t_cs_ref.resistive", "sensor.stuck_off", "ref_to_low"])
def test_the_fault_has_a_word_a_ring_and_a_cross(fault: str) -> None:
    drawing = lay_out(CRANK, fault=fault)
    words = _words(drawing)
    assert words.count("FAULT") == 1
    assert any(word.startswith("FAULT") and "—" in word for word in words)
    place = drawing.places[fault.partition(".")[0]]
    rings = [s for s in drawing.picture.shapes if isinstance(s, Circle) and s.colour == "#b3001b"]
    assert len(rings) == 1
    assert place.x0 <= rings[0].x <= place.x1
    assert place.y0 <= rings[0].y <= place.y1


def test_a_short_joins_what_it_shorts_and_changes_no_ground_sign() -> None:
    """A short between two wires of the thermostat is drawn between them; the low reference stays a line."""
    circuit = ready_circuit("heated-thermostat")
    sound = set(_words(lay_out(circuit)))
    faulty = set(_words(lay_out(circuit, fault="reference_low")))
    assert sound <= faulty
    assert "g h" not in faulty


def test_a_symbol_on_one_spine_keeps_all_its_lines_at_one_edge() -> None:
    """With this short the target stands beyond the sensor; the sensor's output must still reach its port."""
    drawing = lay_out(CRANK, fault="ref_to_feed")
    place = drawing.places["sensor"]
    ends = [p for line in _lines_at(drawing, "sens_out") for p in line.points]
    assert any(place.x0 <= x <= place.x1 and place.y0 <= y <= place.y1 for x, y in ends)
    outside = [x for x, _ in ends if x < place.x0 - 1 or x > place.x1 + 1]
    assert len({x < place.x0 for x in outside if abs(x - place.x0) < 60}) == 1


def test_without_a_fault_nothing_is_marked() -> None:
    assert not any("FAULT" in word for word in _words(lay_out(CRANK)))


def test_an_ammeter_in_series_takes_both_ends_of_the_part() -> None:
    drawing = lay_out(PUMP, measurement="fuse_current")
    red, black = _badge(drawing, "R"), _badge(drawing, "B")
    fuse = drawing.places["fuse"]
    assert red.x < fuse.x0 < fuse.x1 < black.x or black.x < fuse.x0 < fuse.x1 < red.x
    assert "meter: amps, in series" in _words(drawing)


def test_a_clamp_has_one_ring_and_no_leads_to_two_points() -> None:
    drawing = lay_out(PUMP, measurement="pump_clamp")
    assert len(_leads(drawing)) == 1
    assert any(word.startswith("clamp around: Pump ground wire") for word in _words(drawing))


def _lift(drawing: Schematic, part: str) -> float:
    """Return how far the blade of a switch stands off its contact [px]."""
    place = drawing.places[part]
    middle = (place.y0 + place.y1) / 2
    lines = [
        s
        for s in drawing.picture.shapes
        if isinstance(s, Polyline)
        and s.role == "symbol"
        and all(place.x0 <= x <= place.x1 and place.y0 <= y <= place.y1 for x, y in s.points)
    ]
    return max(abs(y - middle) for line in lines for _, y in line.points)


def test_the_ignition_switch_closes_with_the_key() -> None:
    assert _lift(lay_out(CRANK, setup="key_off"), "ignition_feed") > 5.0
    assert _lift(lay_out(CRANK, setup="key_on"), "ignition_feed") < 3.0


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ({"measurement": "nothing"}, "measurement 'nothing'"),
        ({"setup": "nothing"}, "set-up 'nothing'"),
        ({"fault": "nothing.open"}, "part 'nothing'"),
        ({"fault": "w_ref.melted"}, "fault mode of part 'w_ref', 'melted'"),
        ({"leads": ("bat_pos", "nothing")}, "point 'nothing'"),
    ],
)
def test_an_unknown_name_is_refused_with_the_known_ones(arguments: dict[str, str], named: str) -> None:
    with pytest.raises(InputError) as caught:
        draw_schematic(CRANK, **arguments)  # type: ignore[arg-type]  # wrong names are the point
    assert named in str(caught.value)
    assert "it has:" in str(caught.value)


def test_markup_in_a_title_stays_text() -> None:
    circuit = CRANK.model_copy(update={"title": '<script>alert("1")</script> & more'})
    text = draw_schematic(circuit)
    assert "<script" not in text
    assert "&lt;script&gt;" in text
