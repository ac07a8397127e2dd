"""The boxes of a drawing and how they hang together: units, connectors and loose parts."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from proveout.circuits.schema import Circuit
from proveout.reports.schematic.pieces import Piece

__all__ = ["Entity", "entities", "root"]

CONTROL_KINDS = {"regulator", "control_input", "clamp", "push_pull"}


@dataclass(frozen=True)
class Entity:
    """One thing that is placed as a whole; `nets` are those that reach it from outside and are drawn as lines.

    A connector lists its nets by half: `near` faces the page's root, `far` the other way.
    """

    name: str
    kind: Literal["unit", "connector", "part"]
    pieces: tuple[Piece, ...]
    nets: frozenset[str]
    near: frozenset[str] = frozenset()
    far: frozenset[str] = frozenset()


def entities(circuit: Circuit, parts: Mapping[str, Piece], signs: Mapping[str, str]) -> list[Entity]:
    """Return the entities, connectors not yet turned towards the root, in the order of the circuit file."""
    homes: dict[str, list[Piece]] = defaultdict(list)
    for piece in parts.values():
        homes[piece.home].append(piece)
    plugged = {net for p in parts.values() if p.connector for net in p.nets.values()}
    homes = _without_loose_units(homes, plugged)
    users: dict[str, set[str]] = defaultdict(set)
    for home, members in homes.items():
        for member in members:
            for net in member.nets.values():
                users[net].add(home)
    probed = {point.node for point in circuit.points.values()}
    found = []
    for home, members in homes.items():
        nets = {net for member in members for net in member.nets.values()} - set(signs)
        shown = frozenset(net for net in nets if len(users[net]) > 1 or net in probed)
        kind: Literal["unit", "connector", "part"] = (
            "unit" if home.startswith("unit ") else "connector" if home.startswith("connector ") else "part"
        )
        found.append(Entity(home, kind, tuple(members), shown if kind == "unit" else frozenset(nets)))
    return found


def root(circuit: Circuit, found: list[Entity]) -> Entity:
    """Return the entity that stands at the left edge: the control unit, else the battery, else the largest one."""

    def rank(entity: Entity) -> tuple[bool, bool, bool, int]:
        unit = circuit.units.get(entity.name.removeprefix("unit ")) if entity.kind == "unit" else None
        supplies = unit is not None and any(piece.kind in CONTROL_KINDS for piece in entity.pieces)
        named = unit is not None and re.search(r"\b(control|module)\b", unit.title, re.IGNORECASE) is not None
        battery = any(piece.kind == "battery" for piece in entity.pieces)
        return supplies, named, battery, len(entity.pieces)

    return max(found, key=rank)


def _without_loose_units(homes: dict[str, list[Piece]], plugged: set[str]) -> dict[str, list[Piece]]:
    """Draw a unit of a single simple part (a fuse, a relay, a switch that no connector reaches) as that part."""
    renamed: dict[str, list[Piece]] = {}
    for home, members in homes.items():
        only = members[0]
        reached = bool(plugged & set(only.nets.values()))
        single = home.startswith("unit ") and len(members) == 1
        bare = only.kind in ("relay", "fuse") or (len(only.nets) == 2 and not reached)
        renamed[f"part {only.name}" if single and bare else home] = members
    return renamed
