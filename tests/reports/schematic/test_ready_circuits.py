"""Every ready circuit is drawn completely, legibly, and says what the circuit says."""

from __future__ import annotations

from collections import defaultdict
from functools import cache
from itertools import combinations
from xml.etree import ElementTree

import pytest

from proveout.circuits import ready_circuit, ready_names
from proveout.circuits.schema import Circuit
from proveout.network import ELEMENTS
from proveout.reports.schematic import Schematic, draw_schematic, lay_out
from proveout.reports.schematic.symbols import SIGN_SIZE
from proveout.reports.svg import Box, Polyline, Text

READY = tuple(ready_names())
NEAR = 1.0
Segment = tuple[float, float, float, float]


def _scenes(circuit: Circuit) -> list[tuple[str | None, str | None]]:
    """Return pictures of a circuit: bare, every twentieth measurement, two bridges at fault, a terminal at fault."""
    tests = list(circuit.measurements)
    failing = [name for name, part in circuit.parts.items() if ELEMENTS[part.kind].faults]
    terminal = next((name for name in failing if circuit.parts[name].connector), failing[0])
    bridges = list(circuit.bridges)
    return [
        (None, None),
        *((test, None) for test in tests[::20]),
        *((None, bridge) for bridge in bridges[-2:]),
        (tests[1], f"{terminal}.{ELEMENTS[circuit.parts[terminal].kind].faults[0].name}"),
    ]


@cache
def _drawn(name: str, measurement: str | None, fault: str | None) -> Schematic:
    return lay_out(ready_circuit(name), measurement=measurement, fault=fault)


def _all(name: str) -> list[Schematic]:
    return [_drawn(name, measurement, fault) for measurement, fault in _scenes(ready_circuit(name))]


def _texts(drawing: Schematic) -> list[Text]:
    return [shape for shape in drawing.picture.shapes if isinstance(shape, Text)]


def _lines(drawing: Schematic, role: str) -> list[Polyline]:
    return [shape for shape in drawing.picture.shapes if isinstance(shape, Polyline) and shape.role == role]


def _segments(line: Polyline) -> list[Segment]:
    return [(*a, *b) for a, b in zip(line.points, line.points[1:], strict=False)]


def _hits(segment: Segment, box: Box) -> bool:
    x0, x1 = sorted((segment[0], segment[2]))
    y0, y1 = sorted((segment[1], segment[3]))
    return x0 < box.x1 - NEAR and x1 > box.x0 + NEAR and y0 < box.y1 - NEAR and y1 > box.y0 + NEAR


def _on(x: float, y: float, segment: Segment) -> bool:
    x0, x1 = sorted((segment[0], segment[2]))
    y0, y1 = sorted((segment[1], segment[3]))
    return x0 - NEAR <= x <= x1 + NEAR and y0 - NEAR <= y <= y1 + NEAR


def _touch(first: Segment, second: Segment) -> bool:
    """Whether an end of one lies on the other: a joint. Lines that merely cross do not touch."""
    return (
        _on(first[0], first[1], second)
        or _on(first[2], first[3], second)
        or _on(second[0], second[1], first)
        or _on(second[2], second[3], first)
    )


def _words(drawing: Schematic) -> list[Text]:
    """Return all words but the letters on the leads' tips, which sit on a wire by intent."""
    return [text for text in _texts(drawing) if not (text.text in ("R", "B") and text.size == 9.0 and text.bold)]


def _inside_symbol(text: Text, drawing: Schematic) -> bool:
    middle = Box(text.box.x0 + 1, text.y - 2, text.box.x0 + 2, text.y - 1)
    return any(place.overlaps(middle) for place in drawing.places.values())


@pytest.mark.parametrize("name", READY)
def test_every_part_and_cavity_is_drawn(name: str) -> None:
    circuit = ready_circuit(name)
    drawing = _drawn(name, None, None)
    assert set(drawing.places) == set(circuit.parts)
    words = [text.text for text in _texts(drawing)]
    for part in circuit.parts.values():
        if part.connector:
            assert words.count(part.cavity) >= 2
            assert part.connector in words
    for place in drawing.places.values():
        assert Box(0, 0, drawing.picture.width, drawing.picture.height).contains(place)


@pytest.mark.parametrize("name", READY)
def test_a_colour_is_never_the_only_sign(name: str) -> None:
    words = [text.text for text in _texts(_drawn(name, None, None))]
    for part in ready_circuit(name).parts.values():
        if part.colour:
            assert any(word.startswith("/".join(part.colour) + " ") for word in words)


@pytest.mark.parametrize("name", READY)
def test_no_words_overlap_and_none_leave_the_picture(name: str) -> None:
    for drawing in _all(name):
        page = Box(0, 0, drawing.picture.width, drawing.picture.height)
        boxes = [(text.text, text.box) for text in _texts(drawing)]
        for words, box in boxes:
            assert page.contains(box), words
        for (first, box), (second, other) in combinations(boxes, 2):
            assert not box.overlaps(other), (first, second)


def _ends_there(line: Polyline, box: Box) -> bool:
    return any(
        box.x0 <= x <= box.x1 and box.y0 - NEAR <= y <= box.y1 + NEAR for x, y in (line.points[0], line.points[-1])
    )


@pytest.mark.parametrize("name", READY)
def test_no_line_runs_through_words_or_symbols(name: str) -> None:
    """A line may only enter the symbol of a part whose net it is, and must end there."""
    circuit = ready_circuit(name)
    nodes = {n: set(p.nodes) for n, p in circuit.parts.items() if p.kind != "wire"}
    nodes |= {n: set(b.nodes) for n, b in circuit.bridges.items()}
    for drawing in _all(name):
        words = [text.box for text in _words(drawing) if not _inside_symbol(text, drawing)]
        for line in _lines(drawing, "wire"):
            for segment in _segments(line):
                assert not any(_hits(segment, box) for box in words), (line.net, segment)
                for part, box in drawing.places.items():
                    if part in nodes and _hits(segment, box):
                        assert line.net in nodes[part] and _ends_there(line, box), (part, line.net, segment)


@pytest.mark.parametrize("name", READY)
def test_the_leads_cross_neither_words_nor_symbols(name: str) -> None:
    for drawing in _all(name):
        words = [text.box for text in _words(drawing)]
        for line in _lines(drawing, "lead"):
            for segment in _segments(line):
                assert not any(_hits(segment, box) for box in words)
                assert not any(_hits(segment, box) for box in drawing.places.values())


@pytest.mark.parametrize("name", READY)
def test_lines_join_where_the_circuit_joins_and_nowhere_else(name: str) -> None:
    """Read the net list back from the picture: a net is one piece, and no two nets touch."""
    for drawing in _all(name):
        nets: dict[str, list[Segment]] = defaultdict(list)
        for line in _lines(drawing, "wire"):
            if line.net:
                nets[line.net] += _segments(line)
        signs = {text.text for text in _texts(drawing) if text.size == SIGN_SIZE} | {"B−"}
        for first, second in combinations(nets, 2):
            touching = [(a, b) for a in nets[first] for b in nets[second] if _touch(a, b)]
            assert not touching, (first, second, touching[:1])
        for net, segments in nets.items():
            if net.replace("_", " ") in signs or net == ready_circuit(name).ground:
                continue
            assert _pieces(segments) == 1, net


def _pieces(segments: list[Segment]) -> int:
    left = set(range(len(segments)))
    count = 0
    while left:
        count += 1
        stack = [left.pop()]
        while stack:
            at = stack.pop()
            joined = {i for i in left if _touch(segments[at], segments[i])}
            left -= joined
            stack += joined
    return count


@pytest.mark.parametrize("name", READY)
def test_the_text_is_xml_without_scripts_and_always_the_same(name: str) -> None:
    circuit = ready_circuit(name)
    first = draw_schematic(circuit)
    assert first == draw_schematic(circuit)
    tree = ElementTree.fromstring(first)
    tags = {element.tag.rsplit("}", 1)[-1] for element in tree.iter()}
    assert tags <= {"svg", "title", "desc", "rect", "text", "polyline", "polygon", "circle"}
    assert "href" not in first
