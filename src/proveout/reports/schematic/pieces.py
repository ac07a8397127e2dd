"""What is drawn of a circuit: its parts by terminal, and the nets that become local ground signs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from proveout.circuits.circuit_domains import circuit_domains
from proveout.circuits.schema import Circuit, Part
from proveout.network.domains import ELECTRICAL
from proveout.network.elements import ELEMENTS

__all__ = ["Piece", "ground_signs", "pieces"]

GROUND_ENTITIES = 4
"""A ground node shared by this many things is drawn as a sign at each of them instead of as a line."""


@dataclass(frozen=True)
class Piece:
    """One part (or the bridge at fault) with its nets by terminal."""

    name: str
    kind: str
    nets: Mapping[str, str]
    unit: str = ""
    connector: str = ""
    cavity: str = ""

    @property
    def home(self) -> str:
        """What it is drawn in: its connector, its unit, or itself."""
        if self.connector:
            return f"connector {self.connector}"
        return f"unit {self.unit}" if self.unit and self.kind != "wire" else f"part {self.name}"


def pieces(circuit: Circuit, fault: str | None) -> dict[str, Piece]:
    """Return the parts of the circuit by name, and the bridge where the fault is one."""
    found = {
        name: Piece(
            name,
            part.kind,
            _nets(part),
            part.unit,
            part.connector,
            part.cavity,
        )
        for name, part in circuit.parts.items()
    }
    if fault in circuit.bridges:
        ends = circuit.bridges[fault].nodes
        found[fault] = Piece(fault, "bridge", {"a": ends[0], "b": ends[1]})
    return found


def _nets(part: Part) -> dict[str, str]:
    """Return the nets by terminal; what a hose or a line loses to the outside is not drawn."""
    nets = dict(zip(ELEMENTS[part.kind].terminals, part.nodes, strict=True))
    return {t: net for t, net in nets.items() if t != "outside"} if len(nets) > 2 else nets


def ground_signs(circuit: Circuit, parts: Mapping[str, Piece]) -> dict[str, str]:
    """Return the nets drawn as local ground signs, with what is written beside the sign.

    They are the battery's negative post and every node that wires and terminals alone join to it and that at least
    `GROUND_ENTITIES` things share.
    """
    users = Counter(net for _, net in {(p.home, net) for p in parts.values() for net in p.nets.values()})
    electrical = ELECTRICAL in circuit_domains(circuit)
    signs = {circuit.ground: "B−" if electrical else circuit.ground.replace("_", " ")}
    near = {circuit.ground}
    while True:
        joined = {
            net
            for piece in parts.values()
            if piece.kind in ("wire", "terminal") and near & set(piece.nets.values())
            for net in piece.nets.values()
        }
        if joined <= near:
            break
        near |= joined
    return signs | {
        net: net.replace("_", " ") for net in sorted(near - {circuit.ground}) if users[net] >= GROUND_ENTITIES
    }
