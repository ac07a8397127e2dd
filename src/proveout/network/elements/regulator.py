"""A regulator or control-unit supply: set voltage, small output resistance, soft current limit, bleed when off."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Gate, Parameter, Values, conductance
from proveout.network.laws import Array, Limited

__all__ = ["REGULATOR"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    drive = (v["voltage"], conductance(v["resistance"]), v["limit"], v["take"]) if on else Limited.absent
    return drive, (conductance(v["bleed"]), 0.0)


REGULATOR = Element(
    name="regulator",
    title="Regulated supply",
    terminals=("output", "ground", "feed"),
    parameters={
        "voltage": Parameter("V", "set voltage", 5.0),
        "resistance": Parameter("ohm", "output resistance", 0.5, low=1e-6),
        "limit": Parameter("A", "current limit", 0.1, low=1e-9),
        "take": Parameter("A", "current it takes when held above its set voltage", 0.005, low=1e-9),
        "bleed": Parameter("ohm", "resistance from output to ground, on or off", 2.0e4, low=1e-3),
        "minimum_feed": Parameter("V", "feed below which it shuts down", 6.0),
    },
    branches=(Branch("limited", ("output", "ground")), Branch("linear", ("output", "ground"))),
    expand=_expand,
    gate=Gate("feed", "ground", "minimum_feed"),
    switched=True,
    faults=(
        FaultMode("dead", "no output", 1.0, forced=False),
        FaultMode("low", "output low", 0.3, "voltage", 0.3, 0.93, relative=True),
        FaultMode("high", "output high", 0.2, "voltage", 1.07, 2.2, relative=True),
    ),
)
