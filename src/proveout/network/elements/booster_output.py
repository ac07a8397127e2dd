"""What a booster and a master cylinder make of a pedal force: the force balance, and the pressure in the brake line.

    push      F_in = pedal force x pedal ratio
    assist    F_a = min((boost - 1) F_in, efficiency x piston area x pressure difference)
    pressure  p = (F_in + F_a) / bore area

Up to the run-out point the assist is in proportion to the push; beyond it the whole pressure difference is used and the
pressure rises by the foot alone.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from proveout.network.domains import HYDRAULIC, PNEUMATIC
from proveout.network.elements._element import Branch, Drive, Element, FaultMode, Parameter, Values
from proveout.network.laws import Array

__all__ = ["HYDRAULIC_BOOSTER_OUTPUT", "VACUUM_BOOSTER_OUTPUT"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    push = v["pedal_force"] * v["pedal_ratio"]
    most = v["efficiency"] * v["piston_area"] * np.maximum(v["difference"], 0.0)
    assist = np.minimum((v["boost"] - 1.0) * push, most)
    pressure = (push + assist) / v["bore_area"]
    return ((v["give"], v["give"] * pressure),)


VACUUM_BOOSTER_OUTPUT = Element(
    name="vacuum_booster_output",
    title="Booster output and master cylinder",
    terminals=("line", "reservoir", "high", "low"),
    parameters={
        "pedal_force": Parameter("N", "force of the foot on the pedal", 0.0),
        "pedal_ratio": Parameter("1", "lever ratio of the pedal", 4.0, low=0.1),
        "boost": Parameter("1", "output over push up to the run-out point", 4.5, low=1.0),
        "efficiency": Parameter("1", "share of the piston's force that reaches the rod", 0.92, low=0.0, high=1.0),
        "piston_area": Parameter("m2", "area of the booster's piston or diaphragm", 0.045, low=1e-6),
        "bore_area": Parameter("m2", "area of the master cylinder's bore", 3.9e-4, low=1e-8),
        "difference": Parameter("Pa", "pressure difference across the piston, from the network", 0.0, low=-1e9),
        "give": Parameter("m3/(s Pa)", "how readily the master cylinder follows", 1.0e-9, low=1e-18),
    },
    branches=(Branch("linear", ("line", "reservoir")),),
    expand=_expand,
    drive=Drive("difference", "high", "low"),
    domains=(HYDRAULIC, HYDRAULIC, PNEUMATIC, PNEUMATIC),
    faults=(
        FaultMode("sticks", "piston drags, little of its force arrives", 0.5, "efficiency", 0.1, 0.8, relative=True),
    ),
)

HYDRAULIC_BOOSTER_OUTPUT = replace(
    VACUUM_BOOSTER_OUTPUT,
    name="hydraulic_booster_output",
    title="Hydraulic booster output and master cylinder",
    domains=(HYDRAULIC,),
)
