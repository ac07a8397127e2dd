"""A lamp: cold filament of low resistance, ten times as much when lit."""

from __future__ import annotations

import numpy as np

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array
from proveout.network.laws.lamp import POWER

__all__ = ["LAMP"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    hot = v["rated_voltage"] ** 2 / v["power"]
    knee = v["rated_voltage"] / np.sqrt(v["hot_over_cold"] ** (1.0 / POWER) - 1.0)
    return ((conductance(hot / v["hot_over_cold"] + v["extra"]), knee),)


LAMP = Element(
    name="lamp",
    title="Lamp",
    terminals=("a", "b"),
    parameters={
        "rated_voltage": Parameter("V", "rated voltage", 12.0, low=0.1),
        "power": Parameter("W", "power at rated voltage", 5.0, low=1e-3),
        "hot_over_cold": Parameter("1", "hot over cold resistance", 10.0, low=1.01),
        "extra": Parameter("ohm", "resistance added cold by damage", 0.0),
    },
    branches=(Branch("lamp", ("a", "b")),),
    expand=_expand,
    faults=(FaultMode("open", "filament broken", 1.0, "extra", float("inf"), float("inf")),),
)
