"""A relay: a coil, and a contact that closes while the coil has its pull-in voltage."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Gate, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["RELAY"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    contact = conductance(v["contact_resistance"]) if on else 0.0
    return (conductance(v["lead"]), 0.0), (conductance(v["coil_resistance"]), 0.0), (contact, 0.0)


RELAY = Element(
    name="relay",
    title="Relay",
    terminals=("coil_a", "coil_b", "common", "normally_open"),
    parameters={
        "coil_resistance": Parameter("ohm", "coil resistance", 85.0, low=1e-3),
        "lead": Parameter(
            "ohm", "lead into the winding; a break here leaves the winding without voltage", 0.001, low=1e-6
        ),
        "contact_resistance": Parameter("ohm", "contact resistance when closed", 0.01, low=1e-6),
        "pull_in": Parameter("V", "coil voltage at which the contact closes", 7.5),
    },
    branches=(
        Branch("linear", ("coil_a", "winding")),
        Branch("linear", ("winding", "coil_b")),
        Branch("linear", ("common", "normally_open")),
    ),
    inner=("winding",),
    expand=_expand,
    gate=Gate("winding", "coil_b", "pull_in"),
    faults=(
        FaultMode("coil_open", "coil open", 1.0, "lead", float("inf"), float("inf")),
        FaultMode("coil_short", "coil shorted turns", 0.2, "coil_resistance", 0.02, 0.6, relative=True),
        FaultMode("contact_open", "contact does not close", 1.0, forced=False, intermittent=True),
        FaultMode("contact_welded", "contact does not open", 0.3, forced=True),
        FaultMode("contact_resistive", "contact burnt, resistance", 1.0, "contact_resistance", 0.1, 1.0e3),
    ),
)
