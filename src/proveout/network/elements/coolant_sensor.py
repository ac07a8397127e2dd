"""What a control unit makes of the coolant's temperature: its sensor with a lag and an error.

The same error stands in all that is read through it: `shown_opening` is where the unit would see the thermostat open.
"""

from __future__ import annotations

from proveout.network.domains import THERMAL
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.elements._heat import MARK
from proveout.network.laws import Array

__all__ = ["COOLANT_SENSOR"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    away = v["above"] - v["below"]
    return (MARK, MARK * away), (0.0, 0.0, MARK * v["lag"]), (MARK, MARK * away)


COOLANT_SENSOR = Element(
    name="coolant_sensor",
    title="Coolant temperature sensor as the control unit reads it",
    terminals=("shown", "coolant", "shown_opening", "opening", "zero"),
    parameters={
        "lag": Parameter("s", "lag behind the coolant", 5.0, low=1e-3),
        "below": Parameter("K", "by how much it reads low", 0.0),
        "above": Parameter("K", "by how much it reads high", 0.0),
    },
    branches=(
        Branch("linear", ("shown", "coolant")),
        Branch("store", ("shown", "zero")),
        Branch("linear", ("shown_opening", "opening")),
    ),
    expand=_expand,
    domains=(THERMAL,),
    faults=(
        FaultMode("reads_low", "reads low", 1.0, "below", 6.0, 45.0),
        FaultMode("reads_high", "reads high", 0.5, "above", 6.0, 45.0),
    ),
)
