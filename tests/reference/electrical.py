"""The ready circuits that ngspice can be the reference of: those with wires and nothing else."""

from __future__ import annotations

from proveout.circuits import ready_circuit, ready_names
from proveout.circuits.circuit_domains import circuit_domains
from proveout.network.domains import ELECTRICAL

__all__ = ["electrical_names", "fluid_names"]


def electrical_names() -> tuple[str, ...]:
    """Return the names of the ready circuits that are electrical throughout."""
    return tuple(name for name in ready_names() if circuit_domains(ready_circuit(name)) == {ELECTRICAL})


def fluid_names() -> tuple[str, ...]:
    """Return the names of the others."""
    return tuple(name for name in ready_names() if name not in electrical_names())
