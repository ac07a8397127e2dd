"""A terminal in a connector cavity: two contacts that touch, spread or corroded when bad."""

from __future__ import annotations

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["TERMINAL"]


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    return ((conductance(v["resistance"]), 0.0),)


TERMINAL = Element(
    name="terminal",
    title="Terminal",
    terminals=("a", "b"),
    parameters={"resistance": Parameter("ohm", "contact resistance", 0.005, low=1e-6)},
    branches=(Branch("linear", ("a", "b")),),
    expand=_expand,
    faults=(
        FaultMode(
            "open", "spread or backed out, no contact", 1.0, "resistance", float("inf"), float("inf"), intermittent=True
        ),
        FaultMode(
            "resistive", "corroded or loose, contact resistance", 1.5, "resistance", 0.5, 1.0e5, intermittent=True
        ),
    ),
)
