"""An open-collector stage with its own supply: a Hall sensor's output, a low-side driver."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Gate, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["OPEN_COLLECTOR"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    output = v["on_resistance"] if on else v["off_resistance"]
    return (conductance(output), 0.0), (conductance(v["supply_resistance"]), 0.0)


OPEN_COLLECTOR = Element(
    name="open_collector",
    title="Open-collector stage",
    terminals=("output", "supply", "ground"),
    parameters={
        "on_resistance": Parameter("ohm", "output to ground while it pulls low", 20.0, low=1e-6),
        "off_resistance": Parameter("ohm", "output to ground while it does not", 5.0e6, low=1e3),
        "supply_resistance": Parameter("ohm", "supply voltage over supply current", 1000.0, low=1e-2),
        "minimum_supply": Parameter("V", "supply below which the output never pulls low", 3.5),
    },
    branches=(Branch("linear", ("output", "ground")), Branch("linear", ("supply", "ground"))),
    expand=_expand,
    gate=Gate("supply", "ground", "minimum_supply"),
    switched=True,
    faults=(
        FaultMode("stuck_off", "output never pulls low", 1.0, forced=False, intermittent=True),
        FaultMode("stuck_on", "output always low", 0.6, forced=True),
        FaultMode("weak", "output pulls low weakly", 0.3, "on_resistance", 200.0, 2.0e4),
        FaultMode("supply_short", "draws too much supply current", 0.2, "supply_resistance", 1.0, 60.0),
    ),
)
