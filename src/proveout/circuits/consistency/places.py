"""Connectors, cavities and points: the places where a lead can be put."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from proveout.circuits.consistency.network import check_node, touched_nodes
from proveout.circuits.finding import Finding, Path, closest, unknown
from proveout.circuits.schema import Circuit, Point

__all__ = ["check_cavities", "check_places", "terminals_by_cavity"]

_ALL_CAVITIES = ("parts", "*cavities")


def terminals_by_cavity(circuit: Circuit) -> dict[str, dict[str, str]]:
    """Return connector: cavity: name of the terminal in it (the first, if two claim it)."""
    cavities: dict[str, dict[str, str]] = defaultdict(dict)
    for name, part in circuit.parts.items():
        if part.kind == "terminal" and part.connector and part.cavity:
            cavities[part.connector].setdefault(part.cavity, name)
    return dict(cavities)


def check_places(circuit: Circuit) -> Iterator[Finding]:
    """Check connectors and points."""
    cavities = terminals_by_cavity(circuit)
    for name in circuit.connectors:
        if name not in cavities:
            instead = f"Give terminals 'connector: {name}' and their cavities, or remove it"
            found = "a connector without terminals"
            yield Finding(("connectors", name), found, "at least one terminal in it", instead, _ALL_CAVITIES)
    nodes = touched_nodes(circuit)
    for name, point in circuit.points.items():
        yield from check_node(circuit, ("points", name, "node"), point.node, nodes)
        yield from _check_point(circuit, ("points", name), point, cavities)


def check_cavities(circuit: Circuit) -> Iterator[Finding]:
    """Check that no two terminals sit in one cavity."""
    cavities = terminals_by_cavity(circuit)
    for name, part in circuit.parts.items():
        first = cavities.get(part.connector, {}).get(part.cavity, name)
        if part.kind == "terminal" and first != name:
            found = f"cavity {part.cavity} of {part.connector}, in which '{first}' already is"
            yield Finding(("parts", name, "cavity"), found, "a cavity of its own", "Write the other cavity")


def _check_point(circuit: Circuit, path: Path, point: Point, cavities: dict[str, dict[str, str]]) -> Iterator[Finding]:
    if not point.connector:
        if point.cavity or point.side:
            found = "a cavity or side without a connector"
            yield Finding(path, found, "connector, cavity and side together", "Add 'connector: ...'")
        return
    if point.connector not in circuit.connectors:
        yield unknown((*path, "connector"), "connector", point.connector, circuit.connectors, "connectors")
        return
    there = cavities.get(point.connector, {})
    if not point.cavity:
        yield Finding(path, "no 'cavity'", f"a cavity of {point.connector}: {_listed(there)}", "Add 'cavity: ...'")
    elif point.cavity not in there:
        found = f"cavity {point.cavity} of {point.connector}, which does not exist"
        instead = "Write one of these, or add the terminal that sits in it"
        yield Finding((*path, "cavity"), found, f"one of: {_listed(there)}", instead, _ALL_CAVITIES)
    elif point.node not in circuit.parts[there[point.cavity]].nodes:
        nodes = circuit.parts[there[point.cavity]].nodes
        near = closest(point.node, nodes) or nodes[0]
        found = f"the node '{point.node}', which is not at cavity {point.cavity} of {point.connector}"
        yield Finding(
            (*path, "node"),
            found,
            f"a node of that terminal: {', '.join(nodes)}",
            f"Write '{near}', or correct the cavity",
        )


def _listed(cavities: dict[str, str]) -> str:
    return ", ".join(sorted(cavities, key=lambda cavity: (len(cavity), cavity))) or "it has no terminals"
