"""A line for a liquid under pressure, with what it loses to the outside."""

from __future__ import annotations

from proveout.network.domains import HYDRAULIC
from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values
from proveout.network.elements._liquid import DENSITY, LAMINAR, root_conductance
from proveout.network.laws import Array

__all__ = ["LIQUID_SEAL", "PRESSURE_LINE"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    through, wall = (root_conductance(v[name], v["density"]) for name in ("area", "leak_area"))
    return (through if on else 0.0, LAMINAR), (wall, LAMINAR)


def _expand_seal(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((root_conductance(v["leak_area"], v["density"]), LAMINAR),)


_AREA = Parameter("mm2", "effective area from end to end", 5.0, low=1e-12)
_LEAK = Parameter("mm2", "effective area of what leaks", 1e-9, low=0.0)

PRESSURE_LINE = Element(
    name="pressure_line",
    title="Pressure line",
    terminals=("a", "b", "outside"),
    parameters={"area": _AREA, "leak_area": _LEAK, "density": DENSITY},
    branches=(Branch("turbulent", ("a", "b")), Branch("turbulent", ("b", "outside"))),
    expand=_expand,
    switched=True,
    domains=(HYDRAULIC,),
    faults=(
        FaultMode("blocked", "kinked or clogged, effective area", 0.5, "area", 1e-4, 0.05, relative=True),
        FaultMode("leaks", "leaks to the outside", 1.0, "leak_area", 1e-5, 0.3),
    ),
)

LIQUID_SEAL = Element(
    name="liquid_seal",
    title="Seal for a liquid",
    terminals=("a", "b"),
    parameters={"leak_area": _LEAK, "density": DENSITY},
    branches=(Branch("turbulent", ("a", "b")),),
    expand=_expand_seal,
    domains=(HYDRAULIC,),
    faults=(FaultMode("leaks", "leaks, effective area", 1.0, "leak_area", 1e-5, 0.3),),
)
