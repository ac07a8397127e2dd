"""The protection of a control-unit pin: one diode up to the rail, one up from ground."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["CLAMP"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    junction = (v["saturation"], v["width"], v["breakdown"])
    return junction, junction, (conductance(v["leak"]), 0.0)


CLAMP = Element(
    name="clamp",
    title="Pin protection",
    terminals=("pin", "rail", "ground"),
    parameters={
        "saturation": Parameter("A", "saturation current of each diode", 1.0e-12),
        "width": Parameter("V", "emission coefficient times thermal voltage", 0.03, low=0.02),
        "breakdown": Parameter("V", "reverse breakdown voltage", 40.0, low=1.0),
        "leak": Parameter("ohm", "leakage from pin to ground", 1.0e8, low=1.0),
    },
    branches=(
        Branch("diode", ("pin", "rail")),
        Branch("diode", ("ground", "pin")),
        Branch("linear", ("pin", "ground")),
    ),
    expand=_expand,
    faults=(FaultMode("leaky", "pin leaks to ground", 1.0, "leak", 1.0, 1.0e4),),
)
