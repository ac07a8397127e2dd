"""A wax thermostat at the engine's outlet; and one whose wax is warmed by a heater as well.

Full open, the pump drives `passage` x sqrt(pressure) of coolant through the radiator; the valve lets a share of it pass
(`network.laws.wax`). `opens_at`, `full_at` and `leaks_at` show its own figures, as a bench test or a fitted trace finds
them. The heater warms the wax above the coolant by `warms` x power, so that the valve opens that much earlier.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from proveout.network.domains import ELECTRICAL, HYDRAULIC, THERMAL
from proveout.network.elements._element import Branch, Drive, Element, FaultMode, Parameter, Values, conductance
from proveout.network.elements._heat import COOLANT_HEAT, MARK, PASSAGE, carried, held
from proveout.network.laws import Array

__all__ = ["HEATED_THERMOSTAT", "THERMOSTAT"]

PERCENT = 100.0


def _marks(v: Values) -> tuple[tuple[Array | float, ...], ...]:
    return held(v["opens"]), held(v["opens"] + v["span"]), held(PERCENT * v["leakage"])


def _expand(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    full = carried(v["passage"], v["pressure"], v["heat"])
    wax = (full, v["leakage"], v["opens"], v["span"])
    return wax, wax, *_marks(v)


def _expand_heated(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    g = conductance(v["resistance"])
    opens = v["opens"] - v["warms"] * g * v["voltage"] ** 2
    full = np.maximum(v["pump"] * v["speed"] * v["heat"], 1e-9)
    wax = (full, v["leakage"], opens, v["span"])
    lift = (MARK, opens, v["span"])
    return wax, wax, *_marks(v), (g, 0.0), lift, (MARK, 0.0)


_OWN = {
    "opens": Parameter("C", "temperature at which it starts to open", 88.0, low=-60.0),
    "span": Parameter("K", "from start-to-open to full open", 12.0, low=0.1),
    "leakage": Parameter("1", "share of the full flow that passes it shut", 0.004, low=1e-6, high=1.0),
    "heat": COOLANT_HEAT,
}
_FAULTS = (
    FaultMode("leaks", "does not shut", 1.0, "leakage", 0.03, 1.0),
    FaultMode("opens_early", "opens too early", 0.5, "opens", 45.0, 79.0),
    FaultMode("opens_late", "opens too late", 0.3, "opens", 97.0, 108.0),
    FaultMode("stuck_shut", "does not open", 0.6, "opens", 150.0, 150.0),
)
_BRANCHES = (
    Branch("wax", ("engine", "hose")),
    Branch("wax", ("engine", "radiator")),
    Branch("linear", ("opens_at", "zero")),
    Branch("linear", ("full_at", "zero")),
    Branch("linear", ("leaks_at", "zero")),
)
_ENDS = ("engine", "hose", "radiator", "opens_at", "full_at", "leaks_at", "zero")

THERMOSTAT = Element(
    name="thermostat",
    title="Thermostat",
    terminals=(*_ENDS, "pumped"),
    parameters={
        **_OWN,
        "passage": PASSAGE,
        "pressure": Parameter("Pa", "what the pump gives, from the network", 0.0, low=-1e9),
    },
    branches=_BRANCHES,
    expand=_expand,
    drive=Drive("pressure", "pumped", "zero"),
    domains=(*(THERMAL,) * len(_ENDS), HYDRAULIC),
    faults=_FAULTS,
)

HEATED_THERMOSTAT = replace(
    THERMOSTAT,
    name="heated_thermostat",
    title="Thermostat with a heater in its wax",
    terminals=("p", "n", *_ENDS, "lift"),
    parameters={
        **_OWN,
        "opens": Parameter("C", "temperature at which it starts to open, heater off", 103.0, low=-60.0),
        "pump": Parameter("kg", "flow through it full open for each turn of the crankshaft", 0.03, low=1e-9),
        "speed": Parameter("1/s", "turns of the crankshaft in a second", 0.0),
        "resistance": Parameter("ohm", "resistance of the heater", 13.5, low=1e-4),
        "warms": Parameter("K/W", "how much the heater warms the wax above the coolant", 2.0),
        "voltage": Parameter("V", "voltage across the heater, from the network", 0.0, low=-1e9),
    },
    branches=(
        *_BRANCHES,
        Branch("linear", ("p", "n")),
        Branch("wax_lift", ("engine", "lift")),
        Branch("linear", ("lift", "zero")),
    ),
    expand=_expand_heated,
    drive=Drive("voltage", "p", "n"),
    domains=(ELECTRICAL, ELECTRICAL, *(THERMAL,) * len(_ENDS), THERMAL),
    faults=(
        *_FAULTS[:2],
        FaultMode("stuck_shut", "does not open", 0.6, "opens", 180.0, 180.0),
        FaultMode("heater_open", "heater open", 1.0, "resistance", float("inf"), float("inf"), intermittent=True),
        FaultMode("heater_high", "heater's resistance high", 0.3, "resistance", 1.4, 100.0, relative=True),
        FaultMode("heater_low", "heater partly shorted", 0.3, "resistance", 0.05, 0.7, relative=True),
        FaultMode("heater_slack", "heater has lost touch with the wax", 0.3, "warms", 0.02, 0.4, relative=True),
    ),
)
