"""Graphical symbols of the element kinds, after IEC 60617 where it has one (from memory), else common practice.

A two-terminal symbol lies along the axis from (-20, 0) to (20, 0), first terminal at the left. A symbol with more
terminals hangs on a spine: it is given the heights of its rows and draws from there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from proveout.reports.schematic.fluid_symbols import FLUID_MULTI, FLUID_TWO, plain
from proveout.reports.schematic.pen import HALF, Pen, Point, ends, rectangle
from proveout.reports.svg import Polygon, Polyline, Shape, Text

__all__ = ["HALF", "MULTI", "SIGN_SIZE", "TWO", "Pen", "ground_sign", "two", "upright"]

SIGN_SIZE = 9.0


def _resistor(pen: Pen) -> list[Shape]:
    return [*ends(pen, 13), rectangle(pen, 13, 5)]


def _fuse(pen: Pen) -> list[Shape]:
    return [rectangle(pen, 13, 5), pen.line((-HALF, 0), (HALF, 0))]


def _diode(pen: Pen) -> list[Shape]:
    return [
        pen.line((-HALF, 0), (HALF, 0)),
        pen.shape((-6, -6), (6, 0), (-6, 6)),
        pen.line((6, -6), (6, 6)),
    ]


def _coil(pen: Pen) -> list[Shape]:
    turns: list[Point] = []
    for turn in range(4):
        middle = -12 + 8 * turn
        turns += [(middle - 4, 0), (middle - 3, -4), (middle, -6), (middle + 3, -4), (middle + 4, 0)]
    return [*ends(pen, 16), pen.line((-16, 0), *((u + 0.0, v) for u, v in turns))]


def _switch(pen: Pen) -> list[Shape]:
    tip = (10.0, -1.5) if pen.closed else (8.0, -9.0)
    return [*ends(pen, 10), pen.line((-10, 0), tip), pen.circle(-10, 0, 1.8, "#111"), pen.circle(10, 0, 1.8)]


def _lamp(pen: Pen) -> list[Shape]:
    return [*ends(pen, 9), pen.circle(0, 0, 9), pen.line((-6.4, -6.4), (6.4, 6.4)), pen.line((-6.4, 6.4), (6.4, -6.4))]


def _motor(pen: Pen) -> list[Shape]:
    return [*ends(pen, 10), pen.circle(0, 0, 10), pen.text(0, 0, "M", 11)]


def _heater(pen: Pen) -> list[Shape]:
    bars = [pen.line((u, -5), (u, 5)) for u in (-6.5, 0.0, 6.5)]
    return [*ends(pen, 13), rectangle(pen, 13, 5), *bars]


def _thermistor(pen: Pen) -> list[Shape]:
    return [
        *ends(pen, 13),
        rectangle(pen, 13, 5),
        pen.line((-12, 9), (-7, 9), (9, -9)),
    ]


def _capacitor(pen: Pen) -> list[Shape]:
    return [*ends(pen, 3), pen.line((-3, -9), (-3, 9), width=2), pen.line((3, -9), (3, 9), width=2)]


def _battery(pen: Pen) -> list[Shape]:
    plates = [pen.line((u, -h), (u, h), width=w) for u, h, w in ((-7, 9, 1.3), (-2, 5, 2.6), (3, 9, 1.3), (8, 5, 2.6))]
    return [pen.line((-HALF, 0), (-7, 0)), pen.line((8, 0), (HALF, 0)), *plates, pen.text(-14, -7, "+", 10)]


def _sink(pen: Pen) -> list[Shape]:
    return [
        *ends(pen, 10),
        pen.circle(0, 0, 10),
        pen.line((-6, 0), (5, 0)),
        pen.line((1, -3.5), (5.5, 0), (1, 3.5)),
    ]


def _terminal(pen: Pen) -> list[Shape]:
    return [*ends(pen, 4), pen.circle(0, 0, 4), pen.circle(0, 0, 1.3, "#111")]


def _bridge(pen: Pen) -> list[Shape]:
    return [
        pen.line((-HALF, 0), (-12, 0), (-8, -6), (-2, 6), (3, -6), (8, 6), (12, 0), (HALF, 0), width=2.0),
    ]


def _meter(pen: Pen) -> list[Shape]:
    return [*ends(pen, 10), pen.circle(0, 0, 10), pen.text(0, 0, "V", 11)]


TWO: dict[str, Callable[[Pen], list[Shape]]] = {
    "battery": _battery,
    "bridge": _bridge,
    "capacitor": _capacitor,
    "coil": _coil,
    "current_sink": _sink,
    "diode": _diode,
    "fuse": _fuse,
    "heater": _heater,
    "lamp": _lamp,
    "meter_load": _meter,
    "motor": _motor,
    "resistor": _resistor,
    "switch": _switch,
    "terminal": _terminal,
    "thermistor": _thermistor,
    "thermistor_steinhart": _thermistor,
    **FLUID_TWO,
}

Rows = Mapping[str, float]


def two(kind: str) -> Callable[[Pen], list[Shape]]:
    """Return how a two-terminal kind is drawn; one without a symbol of its own is a plain box."""
    return TWO.get(kind, plain)


def _between(pen: Pen, first: float, second: float, kind: str) -> list[Shape]:
    """Draw a two-terminal symbol upright on the spine, its terminals at two heights."""
    middle = (first + second) / 2
    way = 1.0 if second > first else -1.0
    scale = min(1.0, abs(second - first) / (2 * HALF))
    inner = Pen(pen.x, middle, (0.0, way), scale, pen.dash, pen.closed, pen.word)
    reach = HALF * scale * way
    lines: list[Shape] = [
        Polyline(((pen.x, first), (pen.x, middle - reach)), dash=pen.dash),
        Polyline(((pen.x, middle + reach), (pen.x, second)), dash=pen.dash),
    ]
    return [*lines, *two(kind)(inner)]


def _control_input(pen: Pen, rows: Rows) -> list[Shape]:
    """A pull-up where there is one (else the protection diode), the input's resistance and its buffer."""
    upper = "resistor" if pen.word else "diode"
    outward = pen.across[0]
    level = rows["pin"]
    buffer = Polygon(
        ((pen.x - 8 * outward, level - 6), (pen.x - 8 * outward, level + 6), (pen.x - 18 * outward, level)),
        "#fff",
        dash=pen.dash,
    )
    return [
        *_between(pen, level, rows["rail"], upper),
        *_between(pen, level, rows["ground"], "resistor"),
        Polyline(((pen.x, level), (pen.x - 8 * outward, level)), dash=pen.dash),
        buffer,
    ]


def _clamp(pen: Pen, rows: Rows) -> list[Shape]:
    return [
        *_between(pen, rows["pin"], rows["rail"], "diode"),
        *_between(pen, rows["ground"], rows["pin"], "diode"),
    ]


def _regulator(pen: Pen, rows: Rows) -> list[Shape]:
    low, high = min(rows.values()), max(rows.values())
    box = Polygon(
        ((pen.x - 18, low - 9), (pen.x + 18, low - 9), (pen.x + 18, high + 9), (pen.x - 18, high + 9)),
        "#fff",
        dash=pen.dash,
    )
    names = {"feed": "in", "output": "out", "ground": "0 V"}
    words: list[Shape] = [
        Text(pen.x + 15 * pen.across[0], y + 3.2, names[t], 9.0, "end" if pen.across[0] > 0 else "start")
        for t, y in rows.items()
    ]
    return [box, *words]


def _transistor(pen: Pen, upper: float, lower: float, *, arrow: bool = True) -> list[Shape]:
    """Draw an n-p-n transistor on the spine: collector at `upper`, emitter at `lower`, base away from the pins."""
    middle = (upper + lower) / 2
    way = 1.0 if lower > upper else -1.0
    out = pen.across[0]
    bar = pen.x - 8 * out
    shapes: list[Shape] = [
        Polyline(((pen.x, upper), (pen.x, middle - 9 * way), (bar, middle - 4 * way)), dash=pen.dash),
        Polyline(((bar, middle + 4 * way), (pen.x, middle + 9 * way), (pen.x, lower)), dash=pen.dash),
        Polyline(((bar, middle - 8), (bar, middle + 8)), width=2.2),
    ]
    if arrow:
        tip = (pen.x - 1.0 * out, middle + 8.4 * way)
        barbs = ((tip[0] - 5.5 * out, tip[1] - 0.2 * way), tip, (tip[0] - 2.0 * out, tip[1] - 5.0 * way))
        shapes.append(Polygon(barbs, "#111", width=0.6))
    return shapes


def _open_collector(pen: Pen, rows: Rows) -> list[Shape]:
    out = pen.across[0]
    middle = (rows["output"] + rows["ground"]) / 2
    logic = pen.x - 20 * out
    block = Polygon(
        ((logic - 7, middle - 7), (logic + 7, middle - 7), (logic + 7, middle + 7), (logic - 7, middle + 7)),
        "#fff",
        dash=pen.dash,
    )
    way = 1.0 if middle > rows["supply"] else -1.0
    return [
        *_transistor(pen, rows["output"], rows["ground"]),
        Polyline(((pen.x - 8 * out, middle), (logic + 7 * out, middle)), dash=pen.dash),
        Polyline(((pen.x, rows["supply"]), (logic, rows["supply"]), (logic, middle - 7 * way)), dash=pen.dash),
        block,
    ]


def _push_pull(pen: Pen, rows: Rows) -> list[Shape]:
    return [
        *_transistor(pen, rows["supply"], rows["output"]),
        *_transistor(pen, rows["output"], rows["ground"]),
    ]


def _potentiometer(pen: Pen, rows: Rows) -> list[Shape]:
    out = pen.across[0]
    level = rows["wiper"]
    half = min(13.0, abs(rows["high"] - level) - 4, abs(rows["low"] - level) - 4)
    body = Polygon(
        ((pen.x - 5, level - half), (pen.x + 5, level - half), (pen.x + 5, level + half), (pen.x - 5, level + half)),
        "#fff",
        dash=pen.dash,
    )
    tip = pen.x + 5 * out
    arrow = Polygon(((tip, level), (tip + 6 * out, level - 3.5), (tip + 6 * out, level + 3.5)), "#111", width=0.6)
    spine = Polyline(((pen.x, rows["high"]), (pen.x, rows["low"])), dash=pen.dash)
    return [spine, body, arrow]


def _relay(pen: Pen, rows: Rows) -> list[Shape]:
    coil = (rows["coil_a"] + rows["coil_b"]) / 2
    contact = (rows["common"] + rows["normally_open"]) / 2
    half = min(8.0, abs(rows["coil_a"] - coil) - 4)
    body = Polygon(
        ((pen.x - 11, coil - half), (pen.x + 11, coil - half), (pen.x + 11, coil + half), (pen.x - 11, coil + half)),
        "#fff",
        dash=pen.dash,
    )
    slash = Polyline(((pen.x - 11, coil + half), (pen.x + 11, coil - half)), dash=pen.dash)
    edge = coil + half if contact > coil else coil - half
    tie = Polyline(((pen.x - 5.0, edge), (pen.x - 5.0, contact)), width=0.9, dash="3 3")
    return [
        Polyline(((pen.x, rows["coil_a"]), (pen.x, rows["coil_b"])), dash=pen.dash),
        body,
        slash,
        tie,
        *_between(pen, rows["common"], rows["normally_open"], "switch"),
    ]


MULTI: dict[str, Callable[[Pen, Rows], list[Shape]]] = {
    "clamp": _clamp,
    "control_input": _control_input,
    "open_collector": _open_collector,
    "potentiometer": _potentiometer,
    "push_pull": _push_pull,
    "ratiometric": _potentiometer,
    "regulator": _regulator,
    "relay": _relay,
    **FLUID_MULTI,
}


def upright(pen: Pen, first: float, second: float, kind: str) -> list[Shape]:
    """Draw a two-terminal symbol upright with its terminals at two heights, each on the spine at `pen.x`."""
    return _between(pen, first, second, kind)


def ground_sign(x: float, y: float, name: str, *, battery: bool) -> list[Shape]:
    """Draw a ground sign hanging at the end of a stub at (x, y), with its name; the battery's post is drawn heavier."""
    bars = [(9.0, 6.0), (5.8, 9.0), (2.6, 12.0)]
    shapes: list[Shape] = [Polyline(((x, y), (x, y + 6.0)))]
    shapes += [
        Polyline(((x - half, y + down), (x + half, y + down)), width=2.0 if battery else 1.3) for half, down in bars
    ]
    return [*shapes, Text(x, y + 23.0, name, SIGN_SIZE, "middle")]
