"""The control valve of a booster: it joins a chamber to one port at rest, to the other while the pedal is pressed.

Vacuum-suspended: the working chamber is joined to the vacuum chamber at rest, to the air when pressed. Atmosphere-
suspended: to the air at rest, to the vacuum when pressed. The pedal is pressed to the run-out point.
"""

from __future__ import annotations

from proveout.network.domains import PNEUMATIC
from proveout.network.elements._air import AIR_PRESSURE, CRITICAL, GAS_TEMPERATURE
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.gas import choked
from proveout.network.laws import Array

__all__ = ["CONTROL_VALVE"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    rest = v["rest_leak"] if on else v["rest_area"]
    applied = v["apply_area"] if on else v["apply_leak"]
    ports = (choked(area, v["temperature"]) for area in (rest, applied))
    return tuple((port, v["critical"], v["air"], 0.0) for port in ports)


CONTROL_VALVE = Element(
    name="control_valve",
    title="Control valve of a booster",
    terminals=("chamber", "rest", "apply"),
    parameters={
        "rest_area": Parameter("mm2", "effective area of the rest port, pedal released", 60.0, low=1e-9),
        "apply_area": Parameter("mm2", "effective area of the apply port, pedal pressed", 60.0, low=1e-9),
        "rest_leak": Parameter("mm2", "effective area of the rest seat, pedal pressed", 2e-4, low=0.0),
        "apply_leak": Parameter("mm2", "effective area of the apply seat, pedal released", 2e-4, low=0.0),
        "critical": CRITICAL,
        "temperature": GAS_TEMPERATURE,
        "air": AIR_PRESSURE,
    },
    branches=(Branch("orifice", ("chamber", "rest")), Branch("orifice", ("chamber", "apply"))),
    expand=_expand,
    switched=True,
    domains=(PNEUMATIC,),
    faults=(
        FaultMode("apply_seat", "apply seat leaks while released", 1.0, "apply_leak", 0.05, 20.0),
        FaultMode("rest_seat", "rest seat leaks while pressed", 1.0, "rest_leak", 0.05, 20.0),
        FaultMode("stuck", "does not open when the pedal is pressed", 0.3, forced=False),
    ),
)
