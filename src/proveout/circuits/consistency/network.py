"""Whether the network hangs together: a ground, no loose ends, every part on some chain to ground."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator

from proveout.circuits.finding import Finding, choices, closest
from proveout.circuits.schema import Circuit
from proveout.network.elements import ELEMENTS

__all__ = ["check_network", "check_node", "reached", "touched_nodes"]

_ALL_NODES = ("parts", "*nodes")


def touched_nodes(circuit: Circuit) -> dict[str, list[str]]:
    """Return every node with the names of the parts at it."""
    touched: dict[str, list[str]] = defaultdict(list)
    for name, part in circuit.parts.items():
        for node in dict.fromkeys(part.nodes):
            touched[node].append(name)
    return dict(touched)


def reached(
    circuit: Circuit, starts: Iterable[str], without: Collection[str] = (), blocked: Collection[str] = ()
) -> set[str]:
    """Return the nodes that chains of parts reach from `starts`, not through the parts `without` nor past `blocked`."""
    touched = touched_nodes(circuit)
    found = set(starts)
    waiting = list(found)
    while waiting:
        node = waiting.pop()
        if node in blocked:
            continue
        for name in touched.get(node, ()):
            fresh = set() if name in without else set(circuit.parts[name].nodes) - found
            found |= fresh
            waiting += fresh
    return found


def check_node(circuit: Circuit, path: tuple[str | int, ...], node: str, nodes: Collection[str]) -> Iterator[Finding]:
    """Check that some part touches the node."""
    if node not in nodes:
        near = closest(node, nodes)
        instead = f"Write '{near}'" if near else "Name a node that a part has"
        yield Finding(path, f"unknown node '{node}'", f"one of: {choices(nodes, most=30)}", instead, _ALL_NODES)


def check_network(circuit: Circuit) -> Iterator[Finding]:
    """Check the ground, loose ends, islands and bridges."""
    touched = touched_nodes(circuit)
    yield from _check_ground(circuit, touched)
    yield from _check_loose_ends(circuit, touched)
    yield from _check_bridges(circuit, touched)
    yield from _check_domains(circuit)


def _check_domains(circuit: Circuit) -> Iterator[Finding]:
    """Check that each node, ground apart, belongs to one physical domain."""
    found: dict[str, tuple[str, str]] = {}
    for name, part in circuit.parts.items():
        kind = ELEMENTS.get(part.kind)
        if kind is None or len(part.nodes) != len(kind.terminals):
            continue
        for place, (terminal, node) in enumerate(zip(kind.terminals, part.nodes, strict=True)):
            domain = kind.domain_of(terminal)
            first, known = found.setdefault(node, (name, domain))
            if domain != known and node != circuit.ground:
                what = f"the node '{node}', {known} at '{first}' and {domain} here"
                instead = f"Correct one of the two: '{terminal}' of a {kind.name} is {domain}"
                yield Finding(("parts", name, "nodes", place), what, "one domain for each node", instead, _ALL_NODES)


def _check_ground(circuit: Circuit, touched: dict[str, list[str]]) -> Iterator[Finding]:
    if circuit.ground not in touched:
        near = closest(circuit.ground, touched)
        instead = f"Write '{near}'" if near else "Name the node of the battery's negative post"
        expected = f"a node that some part touches: {choices(touched, most=30)}"
        yield Finding(
            ("ground",), f"the ground node '{circuit.ground}', at which no part is", expected, instead, _ALL_NODES
        )
        return
    seen = reached(circuit, [circuit.ground])
    for name, part in circuit.parts.items():
        if seen.isdisjoint(part.nodes):
            island = reached(circuit, part.nodes)
            seen |= island
            names = [other for other, its in circuit.parts.items() if not island.isdisjoint(its.nodes)]
            instead = "Correct a node name, or add the part that is missing from the chain"
            expected = f"a chain of parts from every part to the ground node '{circuit.ground}'"
            found = f"no connection to ground from {', '.join(names)}"
            yield Finding(("parts", name, "nodes"), found, expected, instead, _ALL_NODES)


def _check_loose_ends(circuit: Circuit, touched: dict[str, list[str]]) -> Iterator[Finding]:
    used = {circuit.ground, *(point.node for point in circuit.points.values())}
    for signal in circuit.signals.values():
        used.update(node for check in signal.checks for node in check.between or ())
    for node, names in touched.items():
        if len(names) == 1 and node not in used:
            near = closest(node, touched.keys() - {node})
            instead = f"Write '{near}' if that is meant" if near else "Correct the name, or put a point on it"
            place = ("parts", names[0], "nodes", circuit.parts[names[0]].nodes.index(node))
            expected = "a second part, a point or a signal at it"
            yield Finding(place, f"the node '{node}', at which nothing else is", expected, instead, _ALL_NODES)


def _check_bridges(circuit: Circuit, touched: dict[str, list[str]]) -> Iterator[Finding]:
    for name, bridge in circuit.bridges.items():
        path = ("bridges", name)
        for place, node in enumerate(bridge.nodes):
            yield from check_node(circuit, (*path, "nodes", place), node, touched)
        if bridge.nodes[0] == bridge.nodes[1]:
            found = f"a bridge from '{bridge.nodes[0]}' to itself"
            yield Finding((*path, "nodes"), found, "two nodes", "Name the neighbour's node")
        if not bridge.low <= bridge.high <= bridge.insulation:
            found = f"low {bridge.low:g}, high {bridge.high:g}, insulation {bridge.insulation:g} ohm"
            yield Finding(path, found, "low, high and insulation in rising order", "Correct the three values")
        if name in circuit.parts:
            instead = "Rename the bridge: faults are named after parts and bridges"
            yield Finding(path, f"the name '{name}' of a part", "a name of its own", instead)
