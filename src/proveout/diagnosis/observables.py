"""What can be observed of a circuit: every measurement of its file and every check of its signals, as one list."""

from __future__ import annotations

from dataclasses import dataclass

from proveout.circuits.schema import Check, Circuit, Measurement
from proveout.instruments import Function, Meter

__all__ = ["Observable", "observable_of_check", "observable_of_measurement", "observables_of"]

QUANTITIES = {
    "volts_dc": "mean",
    "volts_ac": "rms",
    "ohms": "ohms",
    "amps": "current",
    "amps_clamp": "current",
    "scope_low": "low",
    "scope_high": "high",
    "scope_swing": "swing",
    "vacuum_gauge": "mean",
    "pressure_gauge": "mean",
    "thermometer": "mean",
    "infrared": "mean",
    "count": "count",
    "fitted_temperature": "mean",
    "fitted_share": "mean",
}


@dataclass(frozen=True)
class Observable:
    """One number that the network predicts.

    `quantity` is mean, low, high, swing or rms of the effort from `red` to `black` over the phases of the set-up,
    `ohms` between them, or the mean `current` into the first terminal of a part, which for a part of two terminals is
    the current through it. `load` is the resistance that the instrument puts across the two nodes (infinite: none),
    `burden` its ranges of current, ascending, each with the shunt that it puts in series: (full scale, resistance).
    `count` is how many of the repetitions at the end of a sequence have at least the effort `at_least`.
    """

    setup: str
    quantity: str
    red: str = ""
    black: str = ""
    part: str = ""
    load: float = float("inf")
    burden: tuple[tuple[float, float], ...] = ()
    at_least: float = 0.0


def observable_of_measurement(circuit: Circuit, measurement: Measurement, meter: Meter) -> Observable:
    """Return what a measurement observes, with the load of this meter."""
    quantity = QUANTITIES[measurement.function]
    if quantity == "current":
        ranges = meter.capability(Function(measurement.function)).ranges
        burden = tuple((r.full_scale, r.series_resistance) for r in ranges)
        return Observable(measurement.setup, quantity, part=measurement.through, burden=burden)
    function = Function(measurement.function)
    red = circuit.points[measurement.red].node
    if function.single:
        # A vacuum is how far the pressure is below that of the surrounding air.
        ends = (circuit.ground, red) if function.kind == "vacuum" else (red, circuit.ground)
        return Observable(measurement.setup, quantity, *ends)
    black = circuit.points[measurement.black].node
    if quantity == "count":
        return Observable(measurement.setup, quantity, red, black, at_least=measurement.at_least or 0.0)
    load = float("inf") if quantity == "ohms" else meter.input_resistance(function)
    return Observable(measurement.setup, quantity, red, black, load=load)


def observable_of_check(setup: str, check: Check) -> Observable:
    """Return what a signal's check observes; nothing loads the circuit."""
    if check.between is None:
        return Observable(setup, "current", part=check.current)
    return Observable(setup, check.quantity, *check.between)


def observables_of(circuit: Circuit, meter: Meter) -> tuple[Observable, ...]:
    """Return all observables of a circuit without repetition, measurements first."""
    found = [observable_of_measurement(circuit, m, meter) for m in circuit.measurements.values()]
    found += [
        observable_of_check(signal.setup, check) for signal in circuit.signals.values() for check in signal.checks
    ]
    return tuple(dict.fromkeys(found))
