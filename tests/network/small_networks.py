"""Build small networks in one expression."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from proveout.network import ELEMENTS, Netlist, PartState, Placed, Solution, solve_steady
from proveout.network.laws import Array

Part = tuple[str, str, tuple[str, ...], Mapping[str, Array | float]]

REQUIRED: dict[str, dict[str, float]] = {
    "resistor": {"resistance": 470.0},
    "capacitor": {"capacitance": 1e-6},
    "thermistor": {"temperature": 20.0, "resistance_25": 2000.0},
    "thermistor_steinhart": {"temperature": 20.0, "a": 1.129148e-3, "b": 2.34125e-4, "c": 8.76741e-8},
    "potentiometer": {"position": 0.3},
    "ratiometric": {"position": 0.3},
}
"""Values for what has no default."""


def values_of(kind: str, **changes: Array | float) -> dict[str, Array | float]:
    """Return the default values of an element kind, with changes."""
    defaults = {name: p.default for name, p in ELEMENTS[kind].parameters.items() if p.default is not None}
    return {**defaults, **REQUIRED.get(kind, {}), **changes}


def network(parts: Sequence[Part], leakage: float = float("inf")) -> tuple[Netlist, list[PartState]]:
    """Return the netlist on ground 'gnd' and one state for each part, all on."""
    placed = [Placed(name, ELEMENTS[kind], nodes) for name, kind, nodes, _ in parts]
    return Netlist(placed, "gnd", leakage), [PartState(values_of(kind, **values)) for _, kind, _, values in parts]


def solved(parts: Sequence[Part], leakage: float = float("inf"), count: int = 1) -> tuple[Netlist, Solution]:
    """Return the netlist and its steady state."""
    netlist, states = network(parts, leakage)
    return netlist, solve_steady(netlist, netlist.batch(states, count), tolerance=1e-12)


def voltages(parts: Sequence[Part], leakage: float = float("inf")) -> dict[str, float]:
    """Return the steady voltage of each node of one variant."""
    netlist, solution = solved(parts, leakage)
    return {name: float(v) for name, v in zip(netlist.nodes, solution.effort[:, 0], strict=True)}


IDEAL = {"resistance": 1e-9}
"""A battery without internal resistance worth mention."""


def spread(count: int, seed: int, low: float = 0.5, high: float = 2.0) -> Array:
    """Return factors around 1 for a batch."""
    return np.exp(np.random.default_rng(seed).uniform(np.log(low), np.log(high), count))
