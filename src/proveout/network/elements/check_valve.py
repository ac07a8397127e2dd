"""A check valve for air."""

from __future__ import annotations

from proveout.network.domains import PNEUMATIC
from proveout.network.elements._air import AIR_PRESSURE, CRITICAL, GAS_TEMPERATURE
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.gas import choked
from proveout.network.laws import Array

__all__ = ["CHECK_VALVE"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    ahead, back = choked(v["area"], v["temperature"]), choked(v["back_area"], v["temperature"])
    return (ahead, v["critical"], v["air"], v["crack"], v["width"]), (back, v["critical"], v["air"], 0.0)


CHECK_VALVE = Element(
    name="check_valve",
    title="Check valve for air",
    terminals=("inlet", "outlet"),
    parameters={
        "area": Parameter("mm2", "effective area when open", 30.0, low=1e-9),
        "back_area": Parameter("mm2", "effective area of what leaks back", 1e-4, low=0.0),
        "crack": Parameter("Pa", "pressure difference that lifts it", 1.0e3),
        "width": Parameter("Pa", "pressure difference over which it lifts", 1.0e3, low=1.0),
        "critical": CRITICAL,
        "temperature": GAS_TEMPERATURE,
        "air": AIR_PRESSURE,
    },
    branches=(Branch("check_valve", ("inlet", "outlet")), Branch("orifice", ("inlet", "outlet"))),
    expand=_expand,
    domains=(PNEUMATIC,),
    faults=(
        FaultMode("leaks_back", "does not hold, leaks back, effective area", 1.0, "back_area", 0.05, 30.0),
        FaultMode("sticks_shut", "sticks shut, effective area", 0.5, "area", 1e-4, 0.05, relative=True),
    ),
)
