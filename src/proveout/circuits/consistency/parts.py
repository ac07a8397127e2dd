"""Each part by itself: its kind, its terminals, its values, when it is on, its connector."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.circuits.consistency.settings import check_setting, is_number
from proveout.circuits.finding import Finding, Path, choices, closest, unknown
from proveout.circuits.schema import Circuit, Driven, Part, Value
from proveout.network.elements import ELEMENTS, Element, Parameter

__all__ = ["check_parts"]


def check_parts(circuit: Circuit) -> Iterator[Finding]:
    """Check every part against its element kind."""
    for name, part in circuit.parts.items():
        path = ("parts", name)
        kind = ELEMENTS.get(part.kind)
        if kind is None:
            near = closest(part.kind, ELEMENTS)
            instead = f"Write '{near}'" if near else "Write one of these"
            expected = f"one of: {choices(ELEMENTS, most=30)}"
            yield Finding((*path, "kind"), f"unknown element kind '{part.kind}'", expected, instead)
            continue
        yield from _check_nodes(path, part, kind)
        yield from _check_values(circuit, path, part, kind)
        yield from _check_when(circuit, path, part, kind)
        yield from _check_overrides(path, part, kind)
        yield from _check_fittings(circuit, path, part)


def _check_nodes(path: Path, part: Part, kind: Element) -> Iterator[Finding]:
    order = ", ".join(kind.terminals)
    count = len(kind.terminals)
    if len(part.nodes) != count:
        instead = f"Write the nodes in this order: [{order}]"
        found = f"{len(part.nodes)} node{'s' if len(part.nodes) != 1 else ''}"
        yield Finding((*path, "nodes"), found, f"{count} for a {kind.name}: {order}", instead)
    elif len(set(part.nodes)) == 1:
        instead = "Correct one of them: as written the part is bridged by its own nodes"
        yield Finding((*path, "nodes"), f"the node '{part.nodes[0]}' at every terminal", "different nodes", instead)


def _check_values(circuit: Circuit, path: Path, part: Part, kind: Element) -> Iterator[Finding]:
    for name, value in part.values.items():
        place = (*path, "values", name)
        if name not in kind.parameters:
            near = closest(name, kind.parameters)
            instead = f"Write '{near}'" if near else "Remove it"
            expected = f"one of: {choices(kind.parameters)}"
            yield Finding(place, f"unknown value '{name}' of a {kind.name}", expected, instead)
        elif isinstance(value, Driven):
            yield from _check_driven(circuit, place, value, kind.parameters[name])
        else:
            number = value.value if isinstance(value, Value) else value
            yield from _check_range(place, number, kind.parameters[name])
    for name, parameter in kind.parameters.items():
        if parameter.default is None and name not in part.values:
            expected = f"'{name}' in {parameter.unit} ({parameter.meaning}), which has no default"
            instead = f"Add '{name}: {{value: ..., source: ...}}' under values"
            yield Finding((*path, "values"), f"no value '{name}'", expected, instead)


def _check_driven(circuit: Circuit, path: Path, value: Driven, parameter: Parameter) -> Iterator[Finding]:
    condition = circuit.conditions.get(value.condition)
    if condition is None:
        yield unknown((*path, "condition"), "condition", value.condition, circuit.conditions, "conditions")
    elif condition.values:
        found = f"the condition '{value.condition}', which is a choice"
        instead = "Name a condition without a list of values"
        yield Finding((*path, "condition"), found, "a condition that is a number", instead)
    elif is_number(condition.default):
        yield from _check_range(path, value.scale * float(condition.default) + value.offset, parameter)


def _check_range(path: Path, number: float, parameter: Parameter) -> Iterator[Finding]:
    if not parameter.low <= number <= parameter.high:
        expected = f"{parameter.meaning} from {parameter.low:g} to {parameter.high:g} {parameter.unit}"
        yield Finding(path, f"the value {number:g}", expected, f"Check the unit: it is read in {parameter.unit}")


def _check_when(circuit: Circuit, path: Path, part: Part, kind: Element) -> Iterator[Finding]:
    if part.when and not kind.switched:
        switched = choices(name for name, other in ELEMENTS.items() if other.switched)
        found = f"'when' on a {kind.name}"
        yield Finding((*path, "when"), found, f"'when' on a kind with two states only: {switched}", "Remove it")
        return
    for name, settings in part.when.items():
        place = (*path, "when", name)
        if name not in circuit.conditions:
            yield unknown(place, "condition", name, circuit.conditions, "conditions")
            continue
        for number, setting in enumerate(settings):
            yield from check_setting(circuit.conditions[name], name, (*place, number), setting)


def _check_overrides(path: Path, part: Part, kind: Element) -> Iterator[Finding]:
    modes = {mode.name: mode for mode in kind.faults}
    for name, override in part.faults.items():
        place = (*path, "faults", name)
        if name not in modes:
            near = closest(name, modes)
            instead = f"Write '{near}'" if near else "Write one of these, or remove it"
            expected = f"a fault mode of a {kind.name}: {choices(modes)}"
            yield Finding(place, f"unknown fault mode '{name}'", expected, instead)
            continue
        low = modes[name].low if override.low is None else override.low
        high = modes[name].high if override.high is None else override.high
        if not low <= high:
            yield Finding(place, f"a severity from {low:g} to {high:g}", "low at most high", "Exchange or correct them")


def _check_fittings(circuit: Circuit, path: Path, part: Part) -> Iterator[Finding]:
    if part.colour and part.kind != "wire":
        found = f"a colour on a {part.kind}"
        yield Finding((*path, "colour"), found, "colours on wires only", "Move it to the wire that ends here")
    if (part.connector or part.cavity) and part.kind != "terminal":
        found = f"a connector or cavity on a {part.kind}"
        instead = "Put a terminal between, or remove it"
        yield Finding(path, found, "connector and cavity on terminals only", instead)
        return
    if part.connector and part.connector not in circuit.connectors:
        yield unknown((*path, "connector"), "connector", part.connector, circuit.connectors, "connectors")
    if bool(part.connector) != bool(part.cavity):
        lacking = "cavity" if part.connector else "connector"
        yield Finding(path, f"no '{lacking}'", "connector and cavity together", f"Add '{lacking}: ...'")
