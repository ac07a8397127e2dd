"""An air or vacuum hose: a restriction from end to end, and what it lets in through its wall."""

from __future__ import annotations

from proveout.network.domains import PNEUMATIC
from proveout.network.elements._air import AIR_PRESSURE, CRITICAL, GAS_TEMPERATURE
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.gas import choked
from proveout.network.laws import Array

__all__ = ["HOSE"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    through = choked(v["area"], v["temperature"]) if on else 0.0
    wall = choked(v["leak_area"], v["temperature"])
    return (through, v["critical"], v["air"], 0.0), (wall, v["critical"], v["air"], 0.0)


HOSE = Element(
    name="hose",
    title="Air hose",
    terminals=("a", "b", "outside"),
    parameters={
        "area": Parameter("mm2", "effective area from end to end", 30.0, low=1e-9),
        "leak_area": Parameter("mm2", "effective area of a split or a loose end", 1e-6, low=0.0),
        "critical": CRITICAL,
        "temperature": GAS_TEMPERATURE,
        "air": AIR_PRESSURE,
    },
    branches=(Branch("orifice", ("a", "b")), Branch("orifice", ("b", "outside"))),
    expand=_expand,
    switched=True,
    domains=(PNEUMATIC,),
    faults=(
        FaultMode("blocked", "collapsed, kinked or swollen shut, area", 0.5, "area", 1e-4, 0.2, relative=True),
        FaultMode("split", "split or loose at its end, leaks", 1.0, "leak_area", 0.3, 30.0),
    ),
)
