"""Measurements: where the leads go, what the function needs, what the limit means."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.circuits.consistency.network import reached
from proveout.circuits.finding import Finding, Path, unknown
from proveout.circuits.schema import Circuit, Limit, Measurement, Setup
from proveout.instruments import Function

__all__ = ["check_limit", "check_measurements"]

_CURRENTS = frozenset({"amps", "amps_clamp"})
_SOURCES = frozenset({"battery", "regulator"})


def check_measurements(circuit: Circuit) -> Iterator[Finding]:
    """Check every measurement."""
    for name, measurement in circuit.measurements.items():
        path = ("measurements", name)
        if measurement.setup not in circuit.setups:
            yield unknown((*path, "setup"), "set-up", measurement.setup, circuit.setups, "setups")
        yield from _check_leads(circuit, path, measurement)
        yield from _check_count(circuit, path, measurement)
        yield from _check_through(circuit, path, measurement)
        if measurement.limit is not None:
            yield from check_limit((*path, "limit"), measurement.limit, measurement.function)
        if measurement.function == "ohms" and measurement.setup in circuit.setups:
            yield from _check_dead(circuit, path, measurement)


def check_limit(path: Path, limit: Limit, function: str) -> Iterator[Finding]:
    """Check that a limit says something, in order, and means what the function can show."""
    if limit.low is None and limit.high is None and not limit.open:
        yield Finding(path, "a limit without low, high or open", "at least one of them", "Add it, or remove the limit")
    if limit.low is not None and limit.high is not None and not limit.low <= limit.high:
        found = f"low {limit.low:g} above high {limit.high:g}"
        yield Finding(path, found, "low at most high", "Exchange or correct them")
    if limit.open and function != "ohms":
        yield Finding((*path, "open"), f"'open' on {function}", "'open' on ohms only", "Give low and high instead")


def _check_leads(circuit: Circuit, path: Path, measurement: Measurement) -> Iterator[Finding]:
    leads = {"red": measurement.red, "black": measurement.black}
    if Function(measurement.function).single:
        if measurement.black:
            found, instead = f"'black' on {measurement.function}", "Remove it: it reads against the surroundings"
            yield Finding((*path, "black"), found, "one place, 'red'", instead)
        del leads["black"]
    for lead, point in leads.items():
        if point and point not in circuit.points:
            yield unknown((*path, lead), "point", point, circuit.points, "points")
        elif not point and measurement.function not in _CURRENTS:
            expected = f"red and black for {measurement.function}"
            yield Finding(path, f"no '{lead}'", expected, f"Add '{lead}: ' with the name of a point")
    ends = [circuit.points[point].node if point in circuit.points else point for point in leads.values()]
    if len(ends) == 2 and all(leads.values()) and ends[0] == ends[1]:
        found = f"both leads on the node '{ends[0]}'"
        yield Finding((*path, "black"), found, "leads on two different nodes", "Name another point for one lead")


def _check_count(circuit: Circuit, path: Path, measurement: Measurement) -> Iterator[Finding]:
    """A count needs a bound and a set-up whose sequence ends in repetitions."""
    if measurement.function != "count":
        if measurement.at_least is not None:
            found = f"'at_least' on {measurement.function}"
            yield Finding((*path, "at_least"), found, "'at_least' on a count only", "Remove it")
        return
    if measurement.at_least is None:
        expected = "the effort from red to black that still counts"
        yield Finding(path, "no 'at_least'", expected, "Add 'at_least: ...'")
    setup = circuit.setups.get(measurement.setup)
    if setup is not None and (not setup.sequence or setup.sequence[-1].times < 2):
        found = f"a count in '{measurement.setup}', which repeats nothing"
        instead = "Let its sequence end in a stage with 'stages' and 'times'"
        yield Finding((*path, "setup"), found, "a set-up whose sequence ends in repetitions", instead)


def _check_through(circuit: Circuit, path: Path, measurement: Measurement) -> Iterator[Finding]:
    through = measurement.through
    if measurement.function in _CURRENTS and not through:
        yield Finding(
            path, "no 'through'", f"the part whose current {measurement.function} reads", "Add 'through: ...'"
        )
    elif through and measurement.function not in _CURRENTS:
        found = f"'through' on {measurement.function}"
        yield Finding((*path, "through"), found, "'through' for amps only", "Remove it, or correct the function")
    elif through and through not in circuit.parts:
        yield unknown((*path, "through"), "part", through, circuit.parts, "parts")


def _check_dead(circuit: Circuit, path: Path, measurement: Measurement) -> Iterator[Finding]:
    """Ohms with the key on are a mistake unless no source reaches the leads but through ground."""
    setup = circuit.setups[measurement.setup]
    keys = _keys(circuit, setup)
    points = [circuit.points[name] for name in (measurement.red, measurement.black) if name in circuit.points]
    known = set(setup.unplugged) <= circuit.connectors.keys() and set(setup.removed) <= circuit.parts.keys()
    if not keys - {"off"} or len(points) < 2 or not known:
        return
    opened = {name for name, part in circuit.parts.items() if part.connector in setup.unplugged and part.connector}
    opened |= set(setup.removed)
    live = reached(circuit, [point.node for point in points], opened, {circuit.ground}) - {circuit.ground}
    sources = [name for name, part in circuit.parts.items() if part.kind in _SOURCES and live & set(part.nodes)]
    if sources:
        found = (
            f"ohms in '{measurement.setup}', in which the key is {' and '.join(sorted(keys))} and '{sources[0]}' drives"
        )
        instead = "Use a set-up with the key off, or unplug what isolates the leads"
        yield Finding((*path, "setup"), found, "ohms on a dead circuit only", instead, ("parts", "*nodes"))


def _keys(circuit: Circuit, setup: Setup) -> set[str]:
    if "key" not in circuit.conditions:
        return set()
    condition = circuit.conditions["key"]
    key = setup.set.get("key", condition.default)
    keys = [phase.set.get("key", key) for phase in setup.phases] or [key]
    return {str(key) for key in keys if key in condition.values}
