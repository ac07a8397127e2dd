"""One vehicle out of many of a kind: every value that the sheet knows only within limits, drawn for good."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from proveout.circuits.assemble import assemble, tolerances
from proveout.circuits.schema import Circuit, Driven, Part, Value
from proveout.diagnosis.latents import SCATTER
from proveout.network import ELEMENTS

__all__ = ["Individual", "draw_individual"]

LEAST_SHARE = 0.05  # of a value that a drawn tolerance leaves at least
THRESHOLD_SPREAD = 0.02  # standard deviation of a control unit's threshold as a share of it: common practice
SCATTERING: Mapping[str, str] = {
    "bridge": "resistance",
    "terminal": "resistance",
    "fuse": "resistance",
    "switch": "resistance",
    "wire": "length",
}
"""By element kind the parameter that carries the scatter of sound parts."""


@dataclass(frozen=True)
class Individual:
    """A sound vehicle.

    Attributes
    ----------
    circuit : Circuit
        With this vehicle's own values in place of the sheet's.
    thresholds : mapping
        Signal and number of its check: the factor on what the control unit compares with.
    lead_offset : float [ohm]
        What leads and probe tips add to every ohms test of the day, about what the meter allows for.
    """

    circuit: Circuit
    thresholds: Mapping[tuple[str, int], float]
    lead_offset: float


def draw_individual(circuit: Circuit, lead_uncertainty: float, rng: np.random.Generator) -> Individual:
    """Draw one vehicle: tolerances as Gaussians with their limits at two standard deviations, joints as they scatter.

    What no tolerance tells (contacts, the length that a wire really has, insulation) scatters evenly up and down in
    logarithm, by the same spreads with which the belief allows for it.
    """
    told = {(part, name): (spread, relative) for part, name, spread, relative in tolerances(assemble(circuit))}
    scattered = {part for part, _ in told}
    parts = {name: _own(name, part, told, rng) for name, part in circuit.parts.items()}
    parts = {name: part if name in scattered else _scattered(part, rng) for name, part in parts.items()}
    bridges = {
        name: bridge.model_copy(update={"insulation": bridge.insulation * _factor("bridge", rng)})
        for name, bridge in circuit.bridges.items()
    }
    leakage = circuit.leakage * _factor("bridge", rng)
    changed = circuit.model_copy(update={"parts": parts, "bridges": bridges, "leakage": leakage})
    return Individual(changed, _thresholds(circuit, rng), lead_uncertainty * float(rng.standard_normal()))


def _own(name: str, part: Part, told: Mapping[tuple[str, str], tuple[float, bool]], rng: np.random.Generator) -> Part:
    values = dict(part.values)
    for parameter, value in part.values.items():
        if (name, parameter) in told:
            spread, _ = told[name, parameter]
            values[parameter] = _drawn(value, spread * float(rng.standard_normal()))
    return part.model_copy(update={"values": values})


def _drawn(value: float | Value | Driven, away: float) -> float | Value | Driven:
    """Return a value moved by `away`: a share of it, or, for what the set-up drives, an absolute amount."""
    if isinstance(value, Driven):
        return value.model_copy(update={"offset": value.offset + away})
    if isinstance(value, Value):
        return value.model_copy(update={"value": value.value * max(1.0 + away, LEAST_SHARE)})
    return value


def _scattered(part: Part, rng: np.random.Generator) -> Part:
    parameter = SCATTERING.get(part.kind)
    if parameter is None:
        return part
    given = part.values.get(parameter, ELEMENTS[part.kind].parameters[parameter].default)
    value = given.value if isinstance(given, Value) else given
    if not isinstance(value, float | int) or not math.isfinite(value):
        return part
    return part.model_copy(update={"values": {**part.values, parameter: value * _factor(part.kind, rng)}})


def _factor(kind: str, rng: np.random.Generator) -> float:
    return math.exp(SCATTER[kind] * float(rng.standard_normal()))


def _thresholds(circuit: Circuit, rng: np.random.Generator) -> dict[tuple[str, int], float]:
    return {
        (name, number): 1.0 + THRESHOLD_SPREAD * float(rng.standard_normal())
        for name, signal in circuit.signals.items()
        for number in range(len(signal.checks))
    }
