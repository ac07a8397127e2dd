"""In words, what a measurement is put to: the meter's leads, the part in series, a gauge's or a thermometer's place."""

from __future__ import annotations

from proveout.circuits.schema import Circuit, Measurement
from proveout.instruments import Function

__all__ = ["lead_words"]

_INSTRUMENT = {"vacuum": "gauge at", "pressure": "gauge at", "temperature": "at"}


def lead_words(circuit: Circuit, measurement: Measurement) -> str:
    """Return `red X, black Y`, `in series with Z`, `gauge at X`, `at X`, or nothing for what is counted."""
    function = Function(measurement.function)
    if measurement.through:
        part = circuit.parts[measurement.through]
        return f"in series with {part.title or measurement.through}"
    if function.kind == "count":
        return ""
    red = circuit.points[measurement.red].title
    if function.single:
        return f"{_INSTRUMENT[function.kind]} {red}"
    return f"red {red}, black {circuit.points[measurement.black].title}"
