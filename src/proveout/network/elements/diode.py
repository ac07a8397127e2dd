"""A diode."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["DIODE"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return (v["saturation"], v["width"], v["breakdown"]), (conductance(v["bypass"]), 0.0)


DIODE = Element(
    name="diode",
    title="Diode",
    terminals=("anode", "cathode"),
    parameters={
        "saturation": Parameter("A", "saturation current", 2.0e-9),
        "width": Parameter("V", "emission coefficient times thermal voltage", 0.045, low=0.02),
        "breakdown": Parameter("V", "reverse breakdown voltage", 400.0, low=1.0),
        "bypass": Parameter("ohm", "resistance across it (leakage)", 1.0e9, low=1e-3),
    },
    branches=(Branch("diode", ("anode", "cathode")), Branch("linear", ("anode", "cathode"))),
    expand=_expand,
    faults=(
        FaultMode("open", "open", 1.0, "saturation", 0.0, 0.0),
        FaultMode("shorted", "shorted", 1.0, "bypass", 0.1, 10.0),
    ),
)
