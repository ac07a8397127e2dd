"""Build small networks in one expression."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from proveout.network import ELEMENTS, Batch, Element, Netlist, PartState, Placed, Solution, solve_steady
from proveout.network.laws import Array

Part = tuple[str, str, tuple[str, ...], Mapping[str, Array | float]]

REQUIRED: dict[str, dict[str, float]] = {
    "resistor": {"resistance": 470.0},
    "capacitor": {"capacitance": 1e-6},
    "thermistor": {"temperature": 20.0, "resistance_25": 2000.0},
    "thermistor_steinhart": {"temperature": 20.0, "a": 1.129148e-3, "b": 2.34125e-4, "c": 8.76741e-8},
    "potentiometer": {"position": 0.3},
    "ratiometric": {"position": 0.3},
    "vessel": {"volume": 4e-3},
}
"""Values for what has no default."""


def element_of(kind: str) -> Element:
    """Return an element kind; `battery@pneumatic` is a battery that drives air, for tests of other domains."""
    name, _, domain = kind.partition("@")
    return replace(ELEMENTS[name], domains=(domain,)) if domain else ELEMENTS[name]


def values_of(kind: str, **changes: Array | float) -> dict[str, Array | float]:
    """Return the default values of an element kind, with changes."""
    defaults = {name: p.default for name, p in element_of(kind).parameters.items() if p.default is not None}
    return {**defaults, **REQUIRED.get(kind, {}), **changes}


def network(parts: Sequence[Part], leakage: float = float("inf")) -> tuple[Netlist, list[PartState]]:
    """Return the netlist on ground 'gnd' and one state for each part, all on."""
    placed = [Placed(name, element_of(kind), nodes) for name, kind, nodes, _ in parts]
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


PIN: list[Part] = [
    ("battery", "battery", ("plus", "gnd"), {}),
    ("fuse", "fuse", ("plus", "feed"), {}),
    ("supply", "regulator", ("rail", "gnd", "feed"), {}),
    ("sender", "open_collector", ("sig2", "rail", "low"), {}),
    ("wire", "wire", ("sig", "sig2"), {}),
    ("ground", "terminal", ("low", "gnd"), {}),
    ("pin", "control_input", ("sig", "rail", "gnd"), {"pull_up": 2200.0}),
    ("lamp", "lamp", ("feed", "lamp2"), {}),
    ("switch", "switch", ("lamp2", "gnd"), {}),
    ("meter", "meter_load", ("sig", "gnd"), {}),
]
"""A control-unit pin with its sender and supply, and a lamp: every law but the sink."""


def varied(parts: Sequence[Part], count: int, seed: int, spread_by: float = 3.0) -> tuple[Netlist, Batch]:
    """Return a batch in which every value of every part is multiplied by a factor up to `spread_by`, up or down."""
    netlist, states = network(parts, leakage=1e9)
    batch = netlist.batch(states, count)
    rng = np.random.default_rng(seed)
    for part, state in enumerate(states):
        factors = np.exp(rng.uniform(-1.0, 1.0, count) * np.log(spread_by))
        values = {name: np.asarray(value) * factors for name, value in state.values.items()}
        netlist.vary(batch, part, slice(0, count), PartState(values))
    return netlist, batch
