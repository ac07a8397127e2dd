"""Which physical domains a circuit has."""

from __future__ import annotations

from proveout.circuits.schema import Circuit
from proveout.network.elements import ELEMENTS

__all__ = ["circuit_domains"]


def circuit_domains(circuit: Circuit) -> frozenset[str]:
    """Return the physical domains of the circuit's parts, by name; those of unknown kinds are left out."""
    kinds = [ELEMENTS[part.kind] for part in circuit.parts.values() if part.kind in ELEMENTS]
    return frozenset(kind.domain_of(end) for kind in kinds for end in kind.terminals)
