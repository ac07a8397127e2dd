"""A service chart against its circuit: every step exists, every result leads on, every step is reached, none twice."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.circuits.consistency.measurements import check_limit
from proveout.circuits.finding import Finding, Path, choices, closest, unknown
from proveout.circuits.repairs import suspect_names
from proveout.circuits.schema import Circuit
from proveout.circuits.service_chart import ServiceChart, Step

__all__ = ["check_chart", "results_of"]


def results_of(circuit: Circuit, step: Step) -> tuple[frozenset[str], frozenset[str]]:
    """Return the results that a step may name, and those that must lead somewhere.

    Of a measurement `bad` stands for every result that is not good and has no entry of its own.
    """
    if step.do in circuit.measurements:
        measurement = circuit.measurements[step.do]
        limit = step.good or measurement.limit
        must = {"good"}
        if limit is not None and "bad" not in step.leads:
            must |= {"low"} if limit.low is not None or limit.open else set()
            must |= {"high"} if limit.high is not None else set()
            must |= {"open"} if measurement.function == "ohms" and not limit.open else set()
        return frozenset({"good", "low", "high", "open", "bad"}), frozenset(must)
    if step.do in circuit.trials:
        names = frozenset({"cured", "same"})
    else:
        seen = circuit.looks if step.do in circuit.looks else circuit.behaviours
        names = frozenset(seen[step.do].outcomes)
    return names, names


def check_chart(chart: ServiceChart, circuit: Circuit) -> Iterator[Finding]:
    """Check a service chart of `circuit`."""
    if chart.circuit not in {circuit.name, circuit.based_on}:
        found = f"a chart for '{chart.circuit}'"
        yield Finding(("circuit",), found, f"'{circuit.name}', the circuit it is read with", f"Write '{circuit.name}'")
        return
    if chart.first not in chart.steps:
        yield unknown(("first",), "step", chart.first, chart.steps, "steps")
    suspects = suspect_names(circuit)
    lost: list[Finding] = []
    for name, step in chart.steps.items():
        yield from _check_step(circuit, ("steps", name), step)
        for result, target in step.leads.items():
            lost += _check_target(chart, ("steps", name, "leads", result), target, suspects)
    yield from lost
    if chart.first in chart.steps and not lost:
        yield from _check_reach(chart)


def _check_step(circuit: Circuit, path: Path, step: Step) -> Iterator[Finding]:
    known = [*circuit.measurements, *circuit.looks, *circuit.behaviours, *circuit.trials]
    if step.do not in known:
        near = closest(step.do, known)
        instead = f"Write '{near}'" if near else "Name a measurement, look, behaviour or trial of the circuit"
        yield Finding((*path, "do"), f"unknown step to do '{step.do}'", f"one of: {choices(known)}", instead)
        return
    if step.do in circuit.measurements:
        yield from _check_good(circuit, path, step)
    may, must = results_of(circuit, step)
    for result in step.leads:
        if result not in may:
            near = closest(result, may)
            instead = f"Write '{near}'" if near else "Write one of these"
            yield Finding((*path, "leads", result), f"unknown result '{result}'", f"one of: {choices(may)}", instead)
    for result in sorted(must - step.leads.keys()):
        instead = f"Add '{result}: ...' to leads"
        yield Finding((*path, "leads"), f"no lead for the result '{result}'", "a lead for every result", instead)


def _check_good(circuit: Circuit, path: Path, step: Step) -> Iterator[Finding]:
    measurement = circuit.measurements[step.do]
    if step.good is not None:
        yield from check_limit((*path, "good"), step.good, measurement.function)
    elif measurement.limit is None:
        found = f"the measurement '{step.do}', which has no limit"
        yield Finding(path, found, "limits of the step or of the measurement", "Add 'good: {low: ..., high: ...}'")


def _check_target(chart: ServiceChart, path: Path, target: str, suspects: tuple[str, ...]) -> Iterator[Finding]:
    if target == "stop" or target in chart.steps:
        return
    if target.startswith("repair "):
        name = target.removeprefix("repair ").strip()
        if name not in suspects:
            near = closest(name, suspects)
            instead = f"Write 'repair {near}'" if near else "Write one of these"
            yield Finding(
                path, f"the repair of an unknown suspect '{name}'", f"one of: {choices(suspects, most=40)}", instead
            )
        return
    near = closest(target, chart.steps)
    instead = f"Write '{near}'" if near else "Write a step's name, 'repair NAME' or 'stop'"
    yield Finding(path, f"unknown step '{target}'", f"one of: {choices(chart.steps)}", instead, ("steps", target))


def _check_reach(chart: ServiceChart) -> Iterator[Finding]:
    reached: set[str] = set()
    loops: dict[str, list[str]] = {}
    _walk(chart, chart.first, [], reached, loops)
    for name, loop in loops.items():
        found = f"steps that lead back to one another: {' -> '.join(loop)}"
        yield Finding(("steps", name, "leads"), found, "an end to every path", "Let one of them lead on or to 'stop'")
    for name in chart.steps:
        if name not in reached:
            instead = "Lead to it from a result, or remove it"
            yield Finding(
                ("steps", name), "a step that nothing leads to", "a way to every step", instead, ("steps", "*")
            )


def _walk(chart: ServiceChart, name: str, chain: list[str], reached: set[str], loops: dict[str, list[str]]) -> None:
    if name in chain:
        loops[chain[-1]] = [*chain[chain.index(name) :], name]
        return
    if name in reached or name not in chart.steps:
        return
    reached.add(name)
    for target in chart.steps[name].leads.values():
        _walk(chart, target, [*chain, name], reached, loops)
