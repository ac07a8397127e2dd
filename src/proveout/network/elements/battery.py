"""A battery: an electromotive force behind its internal resistance."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["BATTERY"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    g = conductance(v["resistance"])
    return ((g, g * v["emf"]),)


BATTERY = Element(
    name="battery",
    title="Battery",
    terminals=("positive", "negative"),
    parameters={
        "emf": Parameter("V", "open-circuit voltage", 12.6),
        "resistance": Parameter("ohm", "internal resistance", 0.006, low=1e-6),
    },
    branches=(Branch("linear", ("positive", "negative")),),
    expand=_expand,
    faults=(
        FaultMode("flat", "discharged", 1.0, "emf", 4.0, 11.6),
        FaultMode("weak", "internal resistance high", 1.0, "resistance", 0.03, 1.0),
    ),
)
