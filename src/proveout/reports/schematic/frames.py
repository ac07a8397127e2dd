"""The room each group takes, and what is written in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from proveout.circuits.colours import colour_text
from proveout.circuits.schema import Circuit, Driven, Part, Value
from proveout.network.elements import ELEMENTS
from proveout.reports.schematic.grid import Grid, Group
from proveout.reports.svg import text_width, wrap

__all__ = ["ASIDE", "LINE", "SIZE", "TITLE", "Frame", "Marks", "frames", "quantity"]

SIZE = 12.0
LINE = 13.5
TITLE = 13.0
LABEL_WIDTH = 116.0
WIRE_WIDTH = 140.0
TITLE_WIDTH = 160.0
SIGN_BELOW = 28.0
SYMBOL_HALF = 10.0
SPINE = 30.0
"""From the edge on which the pins of an upright symbol leave to its middle [px]."""
ASIDE = 34.0
"""From the middle of an upright symbol to its words beside it [px]."""
PITCH = {"relay": (38.0, 34.0, 38.0)}
UPRIGHT_PITCH = 42.0
MULTI_PITCH = 34.0
CONNECTOR_HALF = 24.0
GAP = 28.0


@dataclass(frozen=True)
class Marks:
    """What is shown of a set-up and a finding: unplugged connectors, parts taken out, the part at fault."""

    unplugged: frozenset[str] = frozenset()
    removed: frozenset[str] = frozenset()
    fault: str = ""

    def tag(self, part: str) -> str:
        """Return the word beside the part at fault, nothing beside any other."""
        return "FAULT" if part and part == self.fault else ""


@dataclass(frozen=True)
class Frame:
    """Room of one group: width, head above the first row, distances, and its text.

    `pitch[i]` is the least distance from row i to row i + 1.
    """

    width: float
    head: float
    above: float
    below: float
    pitch: tuple[float, ...]
    title: tuple[str, ...] = ()
    labels: tuple[str, ...] = ()
    tag: str = ""
    code: str = ""
    aside: bool = False
    """Whether the labels stand beside the symbol (else above it)."""


def frames(grid: Grid, circuit: Circuit, marks: Marks) -> dict[str, Frame]:
    """Return the frame of every group."""
    return {name: _frame(grid, group, circuit, marks) for name, group in grid.groups.items()}


def _frame(grid: Grid, group: Group, circuit: Circuit, marks: Marks) -> Frame:
    if group.kind == "dummy":
        return Frame(0.0, 0.0, 8.0, 8.0, ())
    if group.kind == "connector":
        return _connector(grid, group, circuit, marks)
    if group.kind == "unit":
        title = tuple(wrap(circuit.units[group.name.removeprefix("unit ")].title, TITLE_WIDTH, TITLE, bold=True))
        return Frame(0.0, LINE * len(title) + 8.0, 11.0, 11.0, (22.0,) * (len(group.cells) - 1), title=title)
    if group.piece is not None and len(group.cells) == 1:
        return _lying(grid, group, circuit, marks)
    return _upright(grid, group, circuit, marks)


def _connector(grid: Grid, group: Group, circuit: Circuit, marks: Marks) -> Frame:
    name = group.name.removeprefix("connector ")
    title = [name, *wrap(circuit.connectors[name].title, LABEL_WIDTH, SIZE)]
    apart = name in marks.unplugged
    if apart:
        title.append("unplugged")
    members = [cell.split("|")[1] for cell in group.cells]
    tags = [marks.tag(member) for member in members]
    widest = max(text_width(line, SIZE, bold=True) for line in [*title, *tags])
    width = max(2 * CONNECTOR_HALF + (GAP if apart else 0.0), widest) + 4.0
    lift = 20.0 if any(tags) else 0.0
    cells = [grid.cells[cell] for cell in group.cells]
    room = [SIGN_BELOW if cell.left in grid.signs or cell.right in grid.signs else 13.0 for cell in cells]
    pitch = tuple(below + 11.0 + lift for below in room[:-1])
    return Frame(width, LINE * len(title) + 6.0, 12.0 + lift, room[-1], pitch, tuple(title), tag=max(tags))


def _lying(grid: Grid, group: Group, circuit: Circuit, marks: Marks) -> Frame:
    """A two-terminal part whose ends leave on both sides."""
    piece = group.piece
    if piece is None:
        raise ValueError(f"group '{group.name}' is drawn as a part but holds none; this is a mistake in the drawing")
    cell = grid.cells[group.cells[0]]
    sign = cell.left in grid.signs or cell.right in grid.signs
    tag = marks.tag(piece.name)
    if piece.kind == "wire":
        part = circuit.parts[piece.name]
        code = _wire_code(part)
        labels = _labels(group, circuit, marks, WIRE_WIDTH)
        lines = [code, *labels, tag]
        width = max(96.0, *(text_width(line, SIZE, bold=True) for line in lines)) + 6.0
        below = max(10.0 + LINE * len(labels) + (5.0 if tag else 0.0), SIGN_BELOW if sign else 0.0)
        return Frame(width, 0.0, 20.0 + (LINE + 8.0 if tag else 0.0), below, (), (), labels, tag, code)
    labels = _labels(group, circuit, marks, LABEL_WIDTH)
    lines = [*labels, tag]
    width = max(56.0, *(text_width(line, SIZE, bold=True) for line in lines)) + 8.0
    above = SYMBOL_HALF + 4.0 + LINE * (len(labels) + bool(tag)) + (4.0 if tag else 0.0)
    return Frame(width, 0.0, above, SIGN_BELOW if sign else SYMBOL_HALF + 5.0, (), (), labels, tag)


def _upright(grid: Grid, group: Group, circuit: Circuit, marks: Marks) -> Frame:
    """A part whose ends leave in rows of their own."""
    piece = group.piece
    if piece is None:
        raise ValueError(f"group '{group.name}' is drawn as a part but holds none; this is a mistake in the drawing")
    cells = [grid.cells[name] for name in group.cells]
    aside = all(cell.left for cell in cells) or all(cell.right for cell in cells)
    tag = marks.tag(piece.name)
    labels = _labels(group, circuit, marks, LABEL_WIDTH)
    steps = PITCH.get(piece.kind, ((UPRIGHT_PITCH if len(cells) == 2 else MULTI_PITCH),) * (len(cells) - 1))
    lines = [*labels, tag] if tag else [*labels]
    text = max((text_width(line, SIZE, bold=True) for line in lines), default=0.0)
    height = LINE * len(lines)
    signed = any((cell.left or cell.right) in grid.signs for cell in cells)
    steps = tuple(max(step, SIGN_BELOW + 8.0) if signed else step for step in steps)
    spread = max(0.0, (height - sum(steps)) / 2)
    below = max(14.0 + spread, SIGN_BELOW if signed else 0.0)
    if aside:
        return Frame(SPINE + ASIDE + 2.0 + text, 0.0, 14.0 + spread, below, steps, (), labels, tag, aside=True)
    return Frame(max(2 * SPINE + 24.0, text + 8.0), height + 6.0, 14.0, below, steps, (), labels, tag)


def _labels(group: Group, circuit: Circuit, marks: Marks, width: float) -> tuple[str, ...]:
    """Return title and value of a part, the title left out where the unit around it says the same."""
    name = group.piece.name if group.piece is not None else ""
    if name in circuit.bridges:
        return tuple(wrap(circuit.bridges[name].title, width, SIZE))
    part = circuit.parts[name]
    title = part.title or name
    framed = group.column[0] == "inner" and circuit.units[part.unit].title == title
    upright = part.kind == "wire" and len(group.cells) > 1
    value = "" if part.kind == "wire" else _value_line(part)
    lines = [_wire_code(part)] if upright else []
    lines += [] if framed else wrap(title, width, SIZE)
    return (*lines, *([value] if value else []), *(["taken out"] if name in marks.removed else []))


def _wire_code(part: Part) -> str:
    return f"{colour_text(part.colour)} {quantity(part, 'area'):g} mm²".strip()


def quantity(part: Part, parameter: str) -> float:
    """Return the value of one parameter of a part as the circuit file or its kind gives it; not a number if driven."""
    found = part.values.get(parameter)
    if isinstance(found, Value):
        return found.value
    if isinstance(found, Driven):
        return float("nan")
    if found is not None:
        return found
    default = ELEMENTS[part.kind].parameters[parameter].default
    return float("nan") if default is None else default


# The one quantity that is written beside a symbol, by kind.
_SHOWN: Mapping[str, tuple[str, str]] = {
    "resistor": ("resistance", "Ω"),
    "coil": ("resistance", "Ω"),
    "battery": ("emf", "V"),
    "thermistor": ("resistance_25", "Ω at 25 °C"),
    "potentiometer": ("resistance", "Ω"),
    "heater": ("resistance", "Ω"),
    "lamp": ("power", "W"),
    "regulator": ("voltage", "V"),
    "capacitor": ("capacitance", "F"),
}


def _value_line(part: Part) -> str:
    if part.kind == "current_sink":
        levels = [quantity(part, name) for name in ("low_current", "high_current")]
        words = dict.fromkeys(f"{1e3 * level:g}" for level in levels if abs(level) < float("inf"))
        return f"{' / '.join(words)} mA" if words else ""
    if part.kind == "control_input":
        pull_up = quantity(part, "pull_up")
        return f"pull-up {_engineering(pull_up)}Ω" if pull_up < float("inf") else ""
    parameter, unit = _SHOWN.get(part.kind, ("", ""))
    if not parameter or parameter not in ELEMENTS[part.kind].parameters:
        return ""
    value = quantity(part, parameter)
    return f"{_engineering(value)}{unit}" if abs(value) < float("inf") else ""


def _engineering(value: float) -> str:
    for scale, prefix in ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"), (1e-12, "p")):
        if abs(value) >= scale:
            return f"{float(f'{value / scale:.3g}'):g} {prefix}"
    return "0 "
