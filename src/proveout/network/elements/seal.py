"""A seal for air: a diaphragm, a grommet, a gasket; sound, it lets next to nothing through."""

from __future__ import annotations

from proveout.network.domains import PNEUMATIC
from proveout.network.elements._air import AIR_PRESSURE, CRITICAL, GAS_TEMPERATURE
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.gas import choked
from proveout.network.laws import Array

__all__ = ["SEAL"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((choked(v["leak_area"], v["temperature"]), v["critical"], v["air"], 0.0),)


SEAL = Element(
    name="seal",
    title="Seal or diaphragm",
    terminals=("a", "b"),
    parameters={
        "leak_area": Parameter("mm2", "effective area of what leaks", 2e-4, low=0.0),
        "critical": CRITICAL,
        "temperature": GAS_TEMPERATURE,
        "air": AIR_PRESSURE,
    },
    branches=(Branch("orifice", ("a", "b")),),
    expand=_expand,
    domains=(PNEUMATIC,),
    faults=(FaultMode("leaks", "leaks, effective area", 1.0, "leak_area", 0.02, 20.0),),
)
