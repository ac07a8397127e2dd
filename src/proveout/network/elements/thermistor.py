"""Thermistors: by beta or by the Steinhart-Hart equation (Steinhart and Hart 1968)."""

from __future__ import annotations

import numpy as np

from proveout.network.elements._element import Branch, Element, FaultMode, Parameter, Values, conductance
from proveout.network.laws import Array

__all__ = ["THERMISTOR", "THERMISTOR_STEINHART", "beta_resistance", "steinhart_resistance", "steinhart_temperature"]

KELVIN = 273.15


def beta_resistance(temperature: Array, resistance_25: Array, beta: Array) -> Array:
    """Return R25 exp(beta (1/T - 1/298.15)) [ohm]; `temperature` [C], any shape."""
    return np.asarray(resistance_25 * np.exp(beta * (1.0 / (temperature + KELVIN) - 1.0 / 298.15)))


def steinhart_temperature(resistance: Array, a: Array, b: Array, c: Array) -> Array:
    """Return 1 / (a + b ln R + c ln^3 R) - 273.15 [C]; `resistance` [ohm], any shape."""
    log = np.log(resistance)
    return np.asarray(1.0 / (a + b * log + c * log**3) - KELVIN)


def steinhart_resistance(temperature: Array, a: Array, b: Array, c: Array) -> Array:
    """Return the resistance [ohm] at `temperature` [C]: the real root of the cubic in ln R (Cardano)."""
    x = (a - 1.0 / (temperature + KELVIN)) / (2.0 * c)
    y = np.sqrt((b / (3.0 * c)) ** 3 + x**2)
    return np.asarray(np.exp(np.cbrt(y - x) - np.cbrt(y + x)))


def _beta(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    resistance = v["factor"] * beta_resistance(v["temperature"], v["resistance_25"], v["beta"])
    return ((conductance(resistance + v["extra"]), 0.0),)


def _steinhart(v: Values, on: bool) -> tuple[tuple[Array | float, ...], ...]:
    resistance = v["factor"] * steinhart_resistance(v["temperature"], v["a"], v["b"], v["c"])
    return ((conductance(resistance + v["extra"]), 0.0),)


_SHARED = {
    "temperature": Parameter("C", "temperature of the bead", None, low=-273.0),
    "factor": Parameter("1", "resistance over its curve", 1.0),
    "extra": Parameter("ohm", "series resistance added by damage", 0.0),
}

_FAULTS = (
    FaultMode("open", "open", 1.0, "extra", float("inf"), float("inf"), intermittent=True),
    FaultMode("high", "reads cold (resistance high)", 0.5, "factor", 1.3, 50.0),
    FaultMode("low", "reads hot (resistance low)", 0.5, "factor", 0.002, 0.75),
)

THERMISTOR = Element(
    name="thermistor",
    title="Thermistor",
    terminals=("a", "b"),
    parameters={
        **_SHARED,
        "resistance_25": Parameter("ohm", "resistance at 25 C", None, low=1e-3),
        "beta": Parameter("K", "beta", 3500.0, low=1.0),
    },
    branches=(Branch("linear", ("a", "b")),),
    expand=_beta,
    faults=_FAULTS,
)

THERMISTOR_STEINHART = Element(
    name="thermistor_steinhart",
    title="Thermistor",
    terminals=("a", "b"),
    parameters={
        **_SHARED,
        "a": Parameter("1/K", "Steinhart-Hart A", None),
        "b": Parameter("1/K", "Steinhart-Hart B", None),
        "c": Parameter("1/K", "Steinhart-Hart C", None),
    },
    branches=(Branch("linear", ("a", "b")),),
    expand=_steinhart,
    faults=_FAULTS,
)
