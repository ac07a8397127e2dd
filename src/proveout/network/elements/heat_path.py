"""A path for heat between two bodies; as a fan it is one that is switched."""

from __future__ import annotations

from proveout.network.domains import THERMAL
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.laws import Array

__all__ = ["COOLING_FAN", "HEAT_PATH"]

IDLE = 1.0e-9  # share that a fan at rest still takes away


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((v["conductance"], 0.0),)


def _expand_fan(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((v["conductance"] if on else IDLE * v["conductance"], 0.0),)


HEAT_PATH = Element(
    name="heat_path",
    title="Path for heat",
    terminals=("a", "b"),
    parameters={"conductance": Parameter("W/K", "heat that passes for each kelvin", 50.0, low=1e-12)},
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    domains=(THERMAL,),
    faults=(FaultMode("blocked", "passes little heat", 1.0, "conductance", 0.05, 0.6, relative=True),),
)

COOLING_FAN = Element(
    name="cooling_fan",
    title="Cooling fan",
    terminals=("radiator", "air"),
    parameters={"conductance": Parameter("W/K", "heat that its air takes away for each kelvin", 450.0, low=1e-12)},
    branches=(Branch("linear", ("radiator", "air")),),
    expand=_expand_fan,
    switched=True,
    domains=(THERMAL,),
    faults=(
        FaultMode("dead", "does not run", 1.0, forced=False),
        FaultMode("runs_on", "runs all the time", 0.4, forced=True),
    ),
)
