"""The altitude of the shop in a circuit: its numeric condition `altitude` [m], which drives the pressure of the air."""

from __future__ import annotations

from proveout.circuits.assemble import surroundings
from proveout.circuits.schema import Circuit
from proveout.errors import InputError

__all__ = ["air_pressure", "altitude_of", "at_altitude"]

NAME = "altitude"
LOWEST, HIGHEST = -450.0, 6000.0  # metres: below the Dead Sea's shore, above any workshop


def at_altitude(circuit: Circuit, metres: float | None) -> Circuit:
    """Return the circuit for a shop at an altitude [m]; unchanged where none is given or the circuit has no air.

    Raises
    ------
    InputError
        No workshop is at that altitude.
    """
    if metres is None or NAME not in circuit.conditions:
        return circuit
    if not LOWEST <= metres <= HIGHEST:
        raise InputError(
            f"an altitude of {metres:g} m is no workshop's; it must lie between {LOWEST:g} m and {HIGHEST:g} m: "
            "check the unit, m or ft"
        )
    condition = circuit.conditions[NAME].model_copy(update={"default": float(metres)})
    return circuit.model_copy(update={"conditions": {**circuit.conditions, NAME: condition}})


def altitude_of(circuit: Circuit) -> float | None:
    """Return the altitude [m] that the circuit stands for, None where it has no air."""
    return float(circuit.conditions[NAME].default) if NAME in circuit.conditions else None


def air_pressure(circuit: Circuit) -> float | None:
    """Return the pressure of the air [Pa] at the circuit's altitude, None where it has none."""
    altitude = altitude_of(circuit)
    return None if altitude is None else surroundings("air_pressure", {NAME: altitude})
