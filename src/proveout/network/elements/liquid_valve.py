"""Valves for a liquid: one that lets it through one way, and the spool of a hydraulic booster."""

from __future__ import annotations

from proveout.network.domains import HYDRAULIC
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.elements._liquid import DENSITY, LAMINAR, root_conductance
from proveout.network.laws import Array

__all__ = ["LIQUID_CHECK_VALVE", "SPOOL_VALVE"]


def _expand_check(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return (v["give"], v["crack"]), (root_conductance(v["back_area"], v["density"]), LAMINAR)


def _expand_spool(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    rest = v["rest_leak"] if on else v["rest_area"]
    applied = v["apply_area"] if on else v["apply_leak"]
    return tuple((root_conductance(area, v["density"]), LAMINAR) for area in (rest, applied))


LIQUID_CHECK_VALVE = Element(
    name="liquid_check_valve",
    title="Check or relief valve for a liquid",
    terminals=("inlet", "outlet"),
    parameters={
        "crack": Parameter("Pa", "pressure difference that opens it", 5.0e4),
        "give": Parameter("m3/(s Pa)", "flow for each pascal beyond that", 1.0e-9, low=1e-18),
        "back_area": Parameter("mm2", "effective area of what leaks back", 1e-8, low=0.0),
        "density": DENSITY,
    },
    branches=(Branch("one_way", ("inlet", "outlet")), Branch("turbulent", ("inlet", "outlet"))),
    expand=_expand_check,
    domains=(HYDRAULIC,),
    faults=(FaultMode("leaks_back", "does not hold, leaks back", 1.0, "back_area", 1e-4, 0.5),),
)

SPOOL_VALVE = Element(
    name="spool_valve",
    title="Spool valve of a hydraulic booster",
    terminals=("chamber", "rest", "apply"),
    parameters={
        "rest_area": Parameter("mm2", "effective area to the return, pedal released", 4.0, low=1e-12),
        "apply_area": Parameter("mm2", "effective area to the pressure, pedal pressed", 4.0, low=1e-12),
        "rest_leak": Parameter("mm2", "effective area to the return, pedal pressed", 1e-8, low=0.0),
        "apply_leak": Parameter("mm2", "effective area to the pressure, pedal released", 1e-8, low=0.0),
        "density": DENSITY,
    },
    branches=(Branch("turbulent", ("chamber", "rest")), Branch("turbulent", ("chamber", "apply"))),
    expand=_expand_spool,
    switched=True,
    domains=(HYDRAULIC,),
    faults=(
        FaultMode("apply_leaks", "leaks pressure to the return while released", 1.0, "apply_leak", 1e-4, 0.3),
        FaultMode("rest_leaks", "leaks to the return while pressed", 0.7, "rest_leak", 1e-4, 0.5),
        FaultMode("stuck", "sticks, does not open when pressed", 0.3, forced=False),
    ),
)
