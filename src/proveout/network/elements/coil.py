"""A coil with resistance and inductance, and the voltage a moving target induces in it."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["COIL"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    g = conductance(v["resistance"])
    return ((g, g * v["emf"] * v["coupling"]),)


COIL = Element(
    name="coil",
    title="Coil",
    terminals=("a", "b"),
    parameters={
        "resistance": Parameter("ohm", "direct-current resistance", 1000.0, low=1e-3),
        "inductance": Parameter("H", "inductance", 0.5, low=1e-9),
        "emf": Parameter("V", "induced voltage", 0.0, low=float("-inf")),
        "coupling": Parameter("1", "share of the induced voltage that is left (gap, magnet)", 1.0),
    },
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    storage={0: "inductance"},
    faults=(
        FaultMode("open", "winding open", 1.0, "resistance", float("inf"), float("inf"), intermittent=True),
        FaultMode("shorted_turns", "shorted turns", 0.4, "resistance", 0.05, 0.75, relative=True),
        FaultMode("weak", "weak signal (gap, magnet)", 0.6, "coupling", 0.02, 0.5),
    ),
)
