"""A control-unit input: pull-up to a rail, resistance to ground, protection diodes, powered or not."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["CONTROL_INPUT"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    junction = (v["saturation"], v["width"], v["breakdown"])
    return (conductance(v["pull_up"]), 0.0), (conductance(v["input_resistance"]), 0.0), junction, junction


CONTROL_INPUT = Element(
    name="control_input",
    title="Control-unit input",
    terminals=("pin", "rail", "ground"),
    parameters={
        "pull_up": Parameter("ohm", "pull-up from the pin to the rail", float("inf"), low=1.0),
        "input_resistance": Parameter("ohm", "resistance from the pin to ground", 1.0e6, low=1.0),
        "saturation": Parameter("A", "saturation current of each protection diode", 1.0e-12),
        "width": Parameter("V", "emission coefficient times thermal voltage", 0.03, low=0.02),
        "breakdown": Parameter("V", "breakdown of the protection diodes", 40.0, low=1.0),
    },
    branches=(
        Branch("linear", ("pin", "rail")),
        Branch("linear", ("pin", "ground")),
        Branch("diode", ("pin", "rail")),
        Branch("diode", ("ground", "pin")),
    ),
    expand=_expand,
    faults=(
        FaultMode("pull_up_open", "pull-up open", 1.0, "pull_up", float("inf"), float("inf")),
        FaultMode("leaky", "pin leaks to ground", 0.6, "input_resistance", 1.0, 1.0e3),
    ),
)
