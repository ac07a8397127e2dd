"""An electric vacuum pump: a motor, and a flow of air in proportion to the pressure before it down to its best."""

from __future__ import annotations

from proveout.network.domains import ELECTRICAL, PNEUMATIC
from proveout.network.elements._air import AIR_PRESSURE, GAS_TEMPERATURE
from proveout.network.elements._element import Branch, Element, FaultMode, Gate, Parameter, Values, conductance
from proveout.network.gas import AIR, kelvin
from proveout.network.laws import Array

__all__ = ["VACUUM_PUMP"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    turning = v["running_resistance"] if on else v["stalled_resistance"]
    draws = v["displacement"] / (AIR * kelvin(v["temperature"])) if on else 0.0 * v["displacement"]
    drawn = (draws, draws * (v["best"] - 1.0) * v["air"])
    return (conductance(v["extra"]), 0.0), (conductance(turning), 0.0), drawn


VACUUM_PUMP = Element(
    name="vacuum_pump",
    title="Electric vacuum pump",
    terminals=("positive", "negative", "inlet", "outside"),
    parameters={
        "running_resistance": Parameter("ohm", "voltage over current while turning", 1.6, low=1e-4),
        "stalled_resistance": Parameter("ohm", "winding and brushes at rest", 0.5, low=1e-4),
        "minimum": Parameter("V", "voltage at which it turns", 6.0),
        "extra": Parameter("ohm", "resistance of brushes and lead; a break here leaves it still", 0.005, low=1e-6),
        "displacement": Parameter("m3/s", "volume that it draws in a second", 4.0e-4, low=0.0),
        "best": Parameter("1", "absolute pressure that it reaches, as a share of the air's", 0.14, low=0.0, high=1.0),
        "temperature": GAS_TEMPERATURE,
        "air": AIR_PRESSURE,
    },
    branches=(
        Branch("linear", ("positive", "winding")),
        Branch("linear", ("winding", "negative")),
        Branch("linear", ("inlet", "outside")),
    ),
    inner=("winding",),
    expand=_expand,
    gate=Gate("winding", "negative", "minimum"),
    switched=True,
    domains=(ELECTRICAL, ELECTRICAL, PNEUMATIC, PNEUMATIC, ELECTRICAL),
    faults=(
        FaultMode("open", "winding or brushes open", 1.0, "extra", float("inf"), float("inf"), intermittent=True),
        FaultMode("seized", "does not turn", 0.5, forced=False),
        FaultMode("worn", "vanes worn, draws little", 1.0, "displacement", 0.005, 0.5, relative=True),
    ),
)
