"""Which column each entity stands in: connectors turned towards the root, then longest paths from it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from itertools import permutations

from proveout.reports.schematic.entities import Entity

__all__ = ["layers", "turned"]

UNIT_HOP = 10
FAR = 1000


def turned(found: list[Entity], start: Entity) -> list[Entity]:
    """Return the entities with each connector's nets divided into the half near the root and the half far from it."""
    distance = _distances(found, start)
    inside = {net for e in found if e.kind == "unit" for piece in e.pieces for net in piece.nets.values()}
    return [_turn(e, distance, inside) if e.kind == "connector" else e for e in found]


def _turn(entity: Entity, distance: Mapping[str, int], inside: set[str]) -> Entity:
    far = max(distance.values(), default=0) + UNIT_HOP
    halves = _halves(entity, inside)
    lead = sum(distance.get(b, far) - distance.get(a, far) for a, b in halves if {a, b} <= entity.nets)
    near = frozenset(a if lead >= 0 else b for a, b in halves)
    return replace(entity, near=near, far=frozenset(b if lead >= 0 else a for a, b in halves))


def _halves(entity: Entity, inside: set[str]) -> list[tuple[str, str]]:
    """Return each terminal's net on the harness's and on the unit's half.

    The unit's half is the one that touches a unit's inner part; where that does not tell, the connector's other
    terminals do, else the order in the file.
    """
    ends = [tuple(piece.nets.values()) for piece in entity.pieces]
    told = [(b in inside) - (a in inside) for a, b in ends]
    usual = sum(told) >= 0
    return [(a, b) if way > 0 or (way == 0 and usual) else (b, a) for (a, b), way in zip(ends, told, strict=True)]


def _distances(found: list[Entity], start: Entity) -> dict[str, int]:
    """Return how far each net is from the root's.

    A part is one step, a connector passes by terminal, and a unit other than the root is a long way, so that what
    leads to a unit is counted from its supply and not through it.
    """
    hops: list[tuple[frozenset[str], int]] = []
    for entity in found:
        if entity.kind == "connector":
            hops.extend((frozenset(piece.nets.values()) & entity.nets, 1) for piece in entity.pieces)
        elif entity is not start:
            hops.append((entity.nets, UNIT_HOP if entity.kind == "unit" else 1))
    distance = dict.fromkeys(sorted(start.nets), 0)
    shorter = True
    while shorter:
        shorter = False
        for nets, step in hops:
            reach = step + min((distance[net] for net in nets if net in distance), default=FAR)
            for net in sorted(nets):
                if reach < distance.get(net, FAR):
                    distance[net] = reach
                    shorter = True
    return distance


def layers(found: list[Entity], start: Entity) -> dict[str, int]:
    """Return the column of each entity, the root's being 0."""
    after = _precedence(found, start)
    order = _topological([e.name for e in found], after)
    column = {e.name: 0 if e.name == start.name else 1 for e in found}
    rooted = {start.name}
    for name in order:
        for later in after[name]:
            column[later] = max(column[later], column[name] + 1)
            if name in rooted:
                rooted.add(later)
    for name in reversed(order):
        if name not in rooted and after[name]:
            column[name] = max(column[name], min(column[later] for later in after[name]) - 1)
    return column


def _precedence(found: list[Entity], start: Entity) -> dict[str, set[str]]:
    """Return for each entity those that stand further from the root; a wish that would close a circle is dropped.

    What a connector's near half leads to stands nearer to the root, except what a relay's socket feeds.
    """
    depth = _depths(found, start)
    wishes: list[tuple[str, str]] = []
    relays = {net for e in found for p in e.pieces if e.kind == "part" and p.kind == "relay" for net in e.nets}
    for entity in (e for e in found if e.kind == "connector"):
        socket = bool(relays & (entity.near | entity.far))
        for other in (e for e in found if e.name != entity.name):
            plug = other.kind == "connector"
            if other.nets & entity.far and not (plug and other.far & entity.far):
                wishes.append((entity.name, other.name))
            if other.nets & entity.near and not (plug and other.near & entity.near):
                fed = socket and depth[other.name] > depth[entity.name]
                wishes.append((entity.name, other.name) if fed else (other.name, entity.name))
    wishes += [
        (entity.name, other.name)
        for entity, other in permutations(found, 2)
        if entity.nets & other.nets and _rank(entity, depth) < _rank(other, depth)
    ]
    after: dict[str, set[str]] = defaultdict(set)
    for first, second in wishes:
        if second != start.name and not _reaches(second, first, after):
            after[first].add(second)
    return after


def _depths(found: list[Entity], start: Entity) -> dict[str, int]:
    distance = _distances(found, start)
    far = len(distance) + 1
    return {
        e.name: -1 if e.name == start.name else min((distance.get(net, far) for net in e.nets), default=far)
        for e in found
    }


def _rank(entity: Entity, depth: Mapping[str, int]) -> tuple[int, bool]:
    """Return how far from the root an entity stands; of two equally near ones, a loose part stands before a unit."""
    return depth[entity.name], entity.kind == "unit"


def _reaches(first: str, last: str, after: Mapping[str, set[str]]) -> bool:
    seen, stack = set[str](), [first]
    while stack:
        name = stack.pop()
        if name == last:
            return True
        if name not in seen:
            seen.add(name)
            stack.extend(after.get(name, ()))
    return False


def _topological(names: list[str], after: Mapping[str, set[str]]) -> list[str]:
    before = {name: sum(name in later for later in after.values()) for name in names}
    order = [name for name in names if before[name] == 0]
    for name in order:
        for later in sorted(after.get(name, ()), key=names.index):
            before[later] -= 1
            if before[later] == 0:
                order.append(later)
    return order
