"""What an ideal meter would show of a circuit, every value from ngspice.

Ideal: no error of its own, but the loading, the test voltage, the burden and the ranges that the meter's file gives.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from proveout.circuits.schema import Circuit, Measurement
from proveout.instruments import Capability, Function, Meter, default_meter
from reference.faulted import Situation
from reference.shared_ngspice import ngspice
from reference.spice_netlist import METER, OperatingPoint, Probe, SpiceNetlist, solve

__all__ = ["combine", "open_voltage", "phases", "reading", "readings"]

OVER_LIMIT = math.inf


@dataclass(frozen=True)
class _Series:
    """Values of one quantity over the phases of a set-up, with the phases' shares."""

    values: tuple[float, ...]
    shares: tuple[float, ...]


def phases(situation: Situation) -> tuple[tuple[float, Situation], ...]:
    """Return the phases of the set-up with their shares of the time, normalised; one steady phase where it has none."""
    listed = situation.circuit.setups[situation.setup].phases
    if not listed:
        return ((1.0, situation),)
    whole = sum(phase.share for phase in listed)
    return tuple((phase.share / whole, replace(situation, phase=k)) for k, phase in enumerate(listed))


def combine(function: Function, values: Iterable[float], shares: Iterable[float]) -> float:
    """Return what a function shows of a quantity that passes through the values for the given shares of the time."""
    x, w = np.array(list(values)), np.array(list(shares))
    if np.isinf(x).any() and function.drives:
        return OVER_LIMIT
    mean = float(w @ x)
    match function:
        case Function.VOLTS_AC:
            return float(np.sqrt(w @ (x - mean) ** 2))
        case Function.SCOPE_LOW:
            return float(x.min())
        case Function.SCOPE_HIGH:
            return float(x.max())
        case Function.SCOPE_SWING:
            return float(x.max() - x.min())
        case _:
            return mean


def readings(
    situation: Situation, names: Iterable[str] | None = None, meter: Meter | None = None, lead_offset: float = 0.0
) -> dict[str, float]:
    """Return the ideal readings of the named measurements (all of them by default), by name; over limit is infinite.

    The situation's set-up and phase are ignored: each measurement brings its own.
    """
    chosen = situation.circuit.measurements if names is None else names
    return {name: reading(situation, name, meter, lead_offset) for name in chosen}


def reading(situation: Situation, name: str, meter: Meter | None = None, lead_offset: float = 0.0) -> float:
    """Return the ideal reading of one measurement in SI units; over limit is infinite.

    `lead_offset` [ohm] is what the leads add to a shown resistance.
    """
    measurement = situation.circuit.measurements[name]
    function = Function(measurement.function)
    capability = (meter or default_meter()).capability(function)
    steps = phases(replace(situation, setup=measurement.setup, phase=None))
    values = [_in_phase(step, measurement, capability, lead_offset) for _, step in steps]
    shown = combine(function, values, [share for share, _ in steps])
    return OVER_LIMIT if abs(shown) > capability.most * (1.0 + 1e-9) else shown


def open_voltage(situation: Situation, name: str) -> float:
    """Return the voltage between the points of a measurement without a meter, the largest of its phases."""
    measurement = situation.circuit.measurements[name]
    red, black = _nodes(situation.circuit, measurement)
    steps = phases(replace(situation, setup=measurement.setup, phase=None))
    return max((solve(SpiceNetlist(step)).between(red, black) for _, step in steps), key=abs)


def _in_phase(situation: Situation, measurement: Measurement, capability: Capability, lead_offset: float) -> float:
    function = capability.function
    if function is Function.AMPS:
        return _amps(situation, measurement.through, capability)
    if function is Function.AMPS_CLAMP:
        return solve(SpiceNetlist(situation, metered={measurement.through: 0.0})).current[measurement.through]
    red, black = _nodes(situation.circuit, measurement)
    if function is Function.OHMS:
        return _ohms(situation, red, black, capability, lead_offset)
    point = solve(SpiceNetlist(situation, Probe(red, black, capability.input_resistance)))
    return point.between(red, black)


def _nodes(circuit: Circuit, measurement: Measurement) -> tuple[str, str]:
    return circuit.points[measurement.red].node, circuit.points[measurement.black].node


def _amps(situation: Situation, part: str, capability: Capability) -> float:
    """Settle on the lowest range that holds what it shows itself, with that range's shunt in series."""
    current = 0.0
    for chosen in capability.ranges:
        current = solve(SpiceNetlist(situation, metered={part: chosen.series_resistance})).current[part]
        if abs(current) <= chosen.full_scale:
            break
    return current


def _ohms(situation: Situation, red: str, black: str, capability: Capability, lead_offset: float) -> float:
    """Settle on the lowest range that holds what it shows itself: test voltage E behind Rs, R = Rs V / (E - V)."""
    emf = capability.open_circuit_volts
    netlist = SpiceNetlist(situation, Probe(red, black, capability.ranges[0].series_resistance, emf))
    point = solve(netlist)
    shown = OVER_LIMIT
    for chosen in capability.ranges:
        if chosen is not capability.ranges[0]:
            point = _on_range(netlist, point, chosen.series_resistance)
        across = point.between(red, black)
        shown = lead_offset + (chosen.series_resistance * across / (emf - across) if across < emf else OVER_LIMIT)
        if abs(shown) <= chosen.full_scale:
            break
    return shown


def _on_range(netlist: SpiceNetlist, before: OperatingPoint, series_resistance: float) -> OperatingPoint:
    """Put another resistance behind the test voltage of the netlist that is loaded, and solve again."""
    engine = ngspice()
    engine.alter(METER, series_resistance)
    engine.operating_point()
    point = netlist.read(engine, before.on)
    if netlist.wanted(point.voltage, point.on) == point.on:
        return point
    assert netlist.probe is not None
    return solve(SpiceNetlist(netlist.situation, replace(netlist.probe, resistance=series_resistance), netlist.metered))
