"""A restriction for air: a port, a filter, an opening to the surroundings that a set-up makes."""

from __future__ import annotations

from proveout.network.domains import PNEUMATIC
from proveout.network.elements._air import AIR_PRESSURE, CRITICAL, GAS_TEMPERATURE
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.gas import KAPPA, choked
from proveout.network.laws import Array

__all__ = ["RESTRICTION"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    through = choked(v["area"], v["temperature"]) if on else 0.0
    return ((through, v["critical"], v["air"], v["cooling"] * (KAPPA - 1.0) / (2.0 * KAPPA)),)


RESTRICTION = Element(
    name="restriction",
    title="Restriction for air",
    terminals=("a", "b"),
    parameters={
        "area": Parameter("mm2", "effective area", 10.0, low=1e-9),
        "critical": CRITICAL,
        "temperature": GAS_TEMPERATURE,
        "cooling": Parameter(
            "1",
            "1: the gas comes from a vessel without heat exchange, at its temperature at the air's pressure",
            0.0,
            high=1.0,
        ),
        "air": AIR_PRESSURE,
    },
    branches=(Branch("orifice", ("a", "b")),),
    expand=_expand,
    switched=True,
    domains=(PNEUMATIC,),
    faults=(FaultMode("blocked", "clogged, effective area", 1.0, "area", 1e-4, 0.2, relative=True),),
)
