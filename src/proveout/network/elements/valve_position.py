"""A potentiometer that a valve moves: its slider follows the lift that the network gives."""

from __future__ import annotations

from dataclasses import replace

from proveout.network.domains import ELECTRICAL, THERMAL
from proveout.network.elements._element import Drive, Parameter, Values
from proveout.network.elements.potentiometer import POTENTIOMETER
from proveout.network.laws import Array

__all__ = ["VALVE_POSITION"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return POTENTIOMETER.expand({**v, "position": v["shut"] + v["travel"] * v["lift"]}, on)


VALVE_POSITION = replace(
    POTENTIOMETER,
    name="valve_position",
    title="Position sensor of a valve",
    terminals=(*POTENTIOMETER.terminals, "lift", "zero"),
    parameters={
        **{name: p for name, p in POTENTIOMETER.parameters.items() if name != "position"},
        "shut": Parameter("1", "share of the way with the valve shut", 0.15, low=0.0, high=1.0),
        "travel": Parameter("1", "share of the way from shut to full open", 0.7),
        "lift": Parameter("1", "how far the valve stands open, from the network", 0.0, low=-1e9),
    },
    expand=_expand,
    drive=Drive("lift", "lift", "zero"),
    domains=(*(ELECTRICAL,) * len(POTENTIOMETER.terminals), THERMAL, THERMAL, ELECTRICAL),
)
