"""The schematic of a circuit as SVG, with the meter's leads, a set-up's state and a fault marked on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from proveout.circuits.circuit_domains import circuit_domains
from proveout.circuits.schema import Circuit, Measurement, Setting, Setup
from proveout.errors import InputError
from proveout.network.domains import ELECTRICAL
from proveout.network.elements import ELEMENTS
from proveout.reports.schematic.colours import colour_name
from proveout.reports.schematic.drawing import draw, untidiness
from proveout.reports.schematic.entities import entities, root
from proveout.reports.schematic.frames import Marks, frames
from proveout.reports.schematic.grid import Grid, build
from proveout.reports.schematic.layering import layers, turned
from proveout.reports.schematic.leads import BLACK, RED, Hold, draw_leads, touch_part, touch_point
from proveout.reports.schematic.ordering import arrange
from proveout.reports.schematic.pieces import ground_signs, pieces
from proveout.reports.schematic.sheet import Sheet
from proveout.reports.svg import Box, Picture, Shape, Text, to_svg, wrap

__all__ = ["Schematic", "arrangement", "draw_schematic", "lay_out"]

T = TypeVar("T")
MARGIN = 16.0
TITLE = 16.0
FUNCTIONS = {
    "volts_dc": ("V=", "volts DC"),
    "volts_ac": ("V~", "volts AC"),
    "ohms": ("Ω", "ohms"),
    "amps": ("A", "amps, in series"),
    "amps_clamp": ("A", "amps by clamp"),
    "scope_low": ("S", "scope, lowest level"),
    "scope_high": ("S", "scope, highest level"),
    "scope_swing": ("S", "scope, swing"),
    "vacuum_gauge": ("V", "vacuum gauge"),
    "pressure_gauge": ("P", "pressure gauge"),
    "thermometer": ("T", "thermometer"),
    "infrared": ("T", "infrared thermometer"),
    "count": ("#", "count"),
}
WORDS = {
    "vacuum_gauge": ("gauge",),
    "pressure_gauge": ("gauge",),
    "thermometer": ("thermometer",),
    "infrared": ("thermometer",),
    "count": ("counted is the effort from", "to"),
}
"""What is put to the points of a function, where it is not the leads of a meter."""


@dataclass(frozen=True)
class Schematic:
    """The drawing and where each part's symbol lies in it (cavities under their terminal's name)."""

    picture: Picture
    places: Mapping[str, Box]


def draw_schematic(
    circuit: Circuit,
    *,
    measurement: str | None = None,
    leads: tuple[str, str] | None = None,
    setup: str | None = None,
    fault: str | None = None,
    arranged: Grid | None = None,
) -> str:
    """Return the schematic as SVG text, self-contained and without scripts.

    Parameters
    ----------
    circuit : Circuit
    measurement : str, optional
        Name of a measurement: places the leads, the meter's function and the set-up.
    leads : (str, str), optional
        Points of the red and the black lead, where no measurement is named.
    setup : str, optional
        Set-up whose unplugged connectors are drawn apart and whose switches are drawn as they stand.
    fault : str, optional
        `part`, `part.mode` or the name of a bridge, marked by a cross, a ring and a word.
    arranged : Grid, optional
        What `arrangement` gave for this circuit, where several drawings of it are made; not with a fault.

    Raises
    ------
    InputError
        If the circuit has no measurement, point, set-up, part or fault mode of that name.
    """
    made = lay_out(circuit, measurement=measurement, leads=leads, setup=setup, fault=fault, arranged=arranged)
    return to_svg(made.picture)


def arrangement(circuit: Circuit) -> Grid:
    """Return where the parts of a circuit are drawn, the slow part of every drawing of it."""
    return _grid(circuit, "")


def lay_out(
    circuit: Circuit,
    *,
    measurement: str | None = None,
    leads: tuple[str, str] | None = None,
    setup: str | None = None,
    fault: str | None = None,
    arranged: Grid | None = None,
) -> Schematic:
    """Return the schematic as shapes with the place of every part; arguments as in `draw_schematic`."""
    test = _named(circuit.measurements, measurement, "measurement") if measurement is not None else None
    state_name = setup if setup is not None else test.setup if test is not None else None
    state = _named(circuit.setups, state_name, "set-up") if state_name is not None else None
    part, word = _fault(circuit, fault)
    grid = arranged if arranged is not None and fault is None else _grid(circuit, part)
    holds = _holds(grid, circuit, test, leads)
    marks = Marks(
        frozenset(state.unplugged) if state is not None else frozenset(),
        frozenset(state.removed) if state is not None else frozenset(),
        part,
    )
    head = _head(circuit, state, part, word)
    touched = [hold.touch for hold in holds if hold.touch is not None]
    top = MARGIN + TITLE + 18.0 * len(head)
    sheet = draw(grid, circuit, marks, _closed(circuit, state), touched, (MARGIN, top))
    return _finish(sheet, circuit, holds, test, head)


def _grid(circuit: Circuit, part: str) -> Grid:
    parts = pieces(circuit, part or None)
    signs = ground_signs(circuit, pieces(circuit, None))
    found = entities(circuit, parts, signs)
    start = root(circuit, found)
    found = turned(found, start)
    grid = build(found, layers(found, start), signs)
    framed = frames(grid, circuit, Marks())
    arrange(grid, lambda: untidiness(grid, framed))
    return grid


def _named(table: Mapping[str, T], name: str, kind: str) -> T:
    if name not in table:
        known = ", ".join(sorted(table)) or "none"
        raise InputError(f"the circuit has no {kind} '{name}'; it has: {known}. Name one of these.")
    return table[name]


def _fault(circuit: Circuit, fault: str | None) -> tuple[str, str]:
    """Return the part at fault and the words beside its mark."""
    if fault is None:
        return "", ""
    name, _, mode = fault.partition(".")
    if name in circuit.bridges:
        return name, "FAULT: short"
    part = _named(circuit.parts, name, "part")
    if not mode:
        return name, "FAULT"
    override = part.faults.get(mode)
    modes = {m.name: m.title for m in ELEMENTS[part.kind].faults}
    title = _named(modes, mode, f"fault mode of part '{name}',")
    return name, f"FAULT: {override.title if override is not None and override.title else title}"


def _holds(grid: Grid, circuit: Circuit, test: Measurement | None, leads: tuple[str, str] | None) -> list[Hold]:
    if leads is None and test is not None and test.through:
        title = circuit.parts[test.through].title or test.through
        if test.function == "amps_clamp":
            return [Hold("", RED, f"clamp around: {title}", touch_part(grid, test.through, 0), clamp=True)]
        ends = [touch_part(grid, test.through, terminal) for terminal in (0, 1)]
        return [
            Hold("R", RED, f"red lead: the incoming end of: {title} (opened, meter in series)", ends[0]),
            Hold("B", BLACK, f"black lead: the outgoing end of: {title}", ends[1]),
        ]
    if leads is None and test is not None:
        words = WORDS.get(test.function, ())
        named = [(point, _named(circuit.points, point, "point")) for point in (test.red, test.black) if point]
        if words:
            return [
                Hold(letter, colour, f"{word}: {point.title}", touch_point(grid, circuit, point))
                for (_, point), letter, colour, word in zip(named, "RB", (RED, BLACK), words, strict=False)
            ]
        leads = (test.red, test.black)
    if leads is None:
        return []
    red, black = (_named(circuit.points, name, "point") for name in leads)
    return [
        Hold("R", RED, f"red lead: {red.title}", touch_point(grid, circuit, red)),
        Hold("B", BLACK, f"black lead: {black.title}", touch_point(grid, circuit, black)),
    ]


def _closed(circuit: Circuit, state: Setup | None) -> frozenset[str]:
    """Return the switches that the set-up closes; without a set-up all rest as the conditions' defaults have them."""
    given: dict[str, Setting] = {name: condition.default for name, condition in circuit.conditions.items()}
    if state is not None:
        given |= state.set
    return frozenset(
        name
        for name, part in circuit.parts.items()
        if part.kind == "switch" and all(given.get(condition) in values for condition, values in part.when.items())
    )


def _head(circuit: Circuit, state: Setup | None, part: str, word: str) -> list[str]:
    lines = [circuit.title]
    if state is not None:
        lines.append(f"Set-up: {state.title}")
    if part:
        table = circuit.bridges if part in circuit.bridges else circuit.parts
        lines.append(f"{word} — {table[part].title or part}")
    return lines


def _finish(sheet: Sheet, circuit: Circuit, holds: list[Hold], test: Measurement | None, head: list[str]) -> Schematic:
    width = max(sheet.width + MARGIN, 560.0)
    shapes: list[Shape] = [*sheet.wires, *sheet.symbols, *sheet.texts]
    texts: list[Text] = [
        Text(MARGIN, MARGIN + 14.0 + 18.0 * i, line, 17.0 if i == 0 else 13.0, bold=i == 0)
        for i, line in enumerate(head)
    ]
    bottom = sheet.bottom + 10.0
    if holds:
        sign, function = FUNCTIONS[test.function] if test is not None else ("V", "meter")
        shapes += draw_leads(sheet, holds, sign, MARGIN)
        lines = [
            f"{'meter' if test is None or test.function not in WORDS else 'instrument'}: {function}",
            *(hold.words for hold in holds),
        ]
        texts += [Text(MARGIN + 66.0, sheet.bottom + 64.0 + 16.0 * i, line, 12.0) for i, line in enumerate(lines)]
        bottom = sheet.bottom + 114.0
    key = wrap(_key(circuit), width - 2 * MARGIN, 11.0)
    texts += [Text(MARGIN, bottom + 14.0 + 14.0 * i, line, 11.0, colour="#444") for i, line in enumerate(key)]
    height = bottom + 14.0 + 14.0 * len(key) + 6.0
    width = max([width, *(text.box.x1 + MARGIN for text in texts)])
    about = "; ".join([*head[1:], *(hold.words for hold in holds)]) or "Schematic of the circuit"
    return Schematic(Picture(width, height, circuit.title, about, (*shapes, *texts)), sheet.places)


def _key(circuit: Circuit) -> str:
    codes = sorted({colour for part in circuit.parts.values() for colour in part.colour})
    colours = ", ".join(f"{code} {colour_name(code)}" for code in codes)
    note = "A line passes over another without joining it where there is no dot."
    if ELECTRICAL in circuit_domains(circuit):
        note += " B− is the battery's negative post."
    return f"{note} Wire colours (IEC 60757, base/stripe): {colours}." if codes else note
