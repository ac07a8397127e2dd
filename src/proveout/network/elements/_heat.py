"""What thermal elements share: a temperature that is held, coolant that a pump drives."""

from __future__ import annotations

import numpy as np

from proveout.network.elements._element import Parameter
from proveout.network.laws import Array

__all__ = ["COOLANT_HEAT", "GLYCOL", "PASSAGE", "STIFF", "carried", "held"]

STIFF = 1.0e8  # W/K with which a temperature that is given is held
MARK = 1.0e-3  # W/K of what only shows a number: it takes no heat worth mention
COOLANT_HEAT = Parameter("J/(kg K)", "specific heat capacity of the coolant (`network.thermal`)", 3560.0, low=1e2)
GLYCOL = Parameter("1", "mass fraction of glycol in the coolant", 0.5, low=0.0, high=0.7)
PASSAGE = Parameter("kg/(s Pa^0.5)", "flow through it for each root of a pascal that the pump gives", 6.0e-3, low=1e-9)


def held(temperature: Array | float, stiffness: float = MARK) -> tuple[Array | float, Array | float]:
    """Return the rows of a linear branch that holds its first end at a temperature."""
    return stiffness, stiffness * np.asarray(temperature, dtype=float)


def carried(passage: Array, pressure: Array, heat: Array) -> Array:
    """Return mass flow x heat capacity [W/K] of what a pump's pressure drives through a passage."""
    return np.asarray(passage * np.sqrt(np.maximum(pressure, 0.0)) * heat)
