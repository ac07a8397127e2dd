"""Signals, behaviours, looks and trials: what may be seen, and under which faults."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from fnmatch import fnmatchcase

from proveout.circuits.consistency.network import check_node, touched_nodes
from proveout.circuits.finding import Finding, Path, choices, closest, unknown
from proveout.circuits.repairs import fault_modes, intermittent_modes
from proveout.circuits.schema import Behaviour, Check, Circuit, Look
from proveout.network.elements import ELEMENTS

__all__ = ["check_evidence"]


def check_evidence(circuit: Circuit) -> Iterator[Finding]:
    """Check all that is evidence beside measurements."""
    nodes = touched_nodes(circuit)
    for name, signal in circuit.signals.items():
        path = ("signals", name)
        yield from _check_setup(circuit, path, signal.setup)
        if not signal.checks:
            yield Finding(
                (*path, "checks"), "no checks", "at least one check", "Add one, such as {between: [a, b], at_least: 1}"
            )
        for place, check in enumerate(signal.checks):
            yield from _check_check(circuit, (*path, "checks", place), check, nodes)
    for name, behaviour in circuit.behaviours.items():
        yield from _check_behaviour(circuit, ("behaviours", name), behaviour)
    unread = [name for name, part in circuit.parts.items() if part.kind not in ELEMENTS]
    faults = [*fault_modes(circuit), *(f"{name}.*" for name in unread)]
    coming = [*intermittent_modes(circuit), *(f"{name}.*" for name in unread)]
    for name, look in circuit.looks.items():
        yield from _check_look(circuit, ("looks", name), look, faults, coming)
    for name, trial in circuit.trials.items():
        for pattern in trial.cures:
            yield from _check_pattern(("trials", name, "cures", pattern), pattern, faults, coming)
        if trial.behaviour not in circuit.behaviours:
            at = ("trials", name, "behaviour")
            yield unknown(at, "behaviour", trial.behaviour, circuit.behaviours, "behaviours")
    yield from _check_proof(circuit)


def _check_setup(circuit: Circuit, path: Path, name: str) -> Iterator[Finding]:
    if name not in circuit.setups:
        yield unknown((*path, "setup"), "set-up", name, circuit.setups, "setups")


def _check_check(circuit: Circuit, path: Path, check: Check, nodes: Mapping[str, object]) -> Iterator[Finding]:
    if (check.between is None) == (not check.current):
        yield Finding(path, "both or none of 'between' and 'current'", "exactly one of them", "Keep one of them")
    for place, node in enumerate(check.between or ()):
        yield from check_node(circuit, (*path, "between", place), node, nodes.keys())
    if check.current and check.current not in circuit.parts:
        yield unknown((*path, "current"), "part", check.current, circuit.parts, "parts")
    if check.at_least is None and check.at_most is None:
        yield Finding(path, "a check without a bound", "'at_least' or 'at_most'", "Add one of them")
    elif check.at_least is not None and check.at_most is not None and not check.at_least <= check.at_most:
        found = f"at_least {check.at_least:g} above at_most {check.at_most:g}"
        yield Finding(path, found, "at_least at most at_most", "Exchange or correct them")


def _check_behaviour(circuit: Circuit, path: Path, behaviour: Behaviour) -> Iterator[Finding]:
    yield from _check_setup(circuit, path, behaviour.setup)
    outcomes = list(behaviour.outcomes.items())
    if not outcomes:
        yield Finding((*path, "outcomes"), "no outcomes", "at least one outcome", "Add what may be seen")
        return
    for name, outcome in outcomes:
        place = (*path, "outcomes", name, "when")
        for signal in outcome.when:
            if signal not in circuit.signals:
                yield unknown((*place, signal), "signal", signal, circuit.signals, "signals")
    *earlier, (last, final) = outcomes
    if final.when:
        found = f"conditions on the last outcome '{last}'"
        instead = "Write 'when: {}' on it, or add an outcome for all other cases"
        yield Finding((*path, "outcomes", last), found, "a last outcome that always applies", instead)
    for name, outcome in earlier:
        if not outcome.when:
            found = f"the outcome '{name}' without conditions, which hides those after it"
            yield Finding(
                (*path, "outcomes", name), found, "conditions on all but the last", "Add 'when' or move it last"
            )


def _check_look(
    circuit: Circuit, path: Path, look: Look, faults: Sequence[str], coming: Sequence[str]
) -> Iterator[Finding]:
    if look.setup:
        yield from _check_setup(circuit, path, look.setup)
    if look.connector and look.connector not in circuit.connectors:
        yield unknown((*path, "connector"), "connector", look.connector, circuit.connectors, "connectors")
    if not look.outcomes:
        yield Finding((*path, "outcomes"), "no outcomes", "at least one outcome", "Add what may be seen")
        return
    for pattern, chances in look.given.items():
        place = (*path, "given", pattern)
        yield from _check_pattern(place, pattern, faults, coming)
        yield from _check_chances(place, chances, look)
    yield from _check_chances((*path, "otherwise"), look.otherwise, look)


def _check_chances(path: Path, chances: Mapping[str, float], look: Look) -> Iterator[Finding]:
    for name in chances:
        if name not in look.outcomes:
            near = closest(name, look.outcomes)
            instead = f"Write '{near}'" if near else "Write one of these, or add it to the outcomes"
            yield Finding((*path, name), f"unknown outcome '{name}'", f"one of: {choices(look.outcomes)}", instead)
    total = math.fsum(chances.values())
    if not math.isclose(total, 1.0, abs_tol=1e-6):
        yield Finding(path, f"probabilities that sum to {total:g}", "a sum of 1", "Correct the probabilities")


def _check_pattern(path: Path, pattern: str, faults: Sequence[str], coming: Sequence[str]) -> Iterator[Finding]:
    """Check that a pattern means some fault; with ~ at its end, one of those that may come and go."""
    bare = pattern.removesuffix("~")
    if bare != pattern and _means(bare, faults):
        if not _means(bare, coming):
            found = f"the pattern '{pattern}', whose faults never come and go"
            instead = "Remove the ~, or write 'intermittent: true' for the mode under the part's faults"
            expected = f"~ on faults that may come and go only: {choices(coming)}"
            yield Finding(path, found, expected, instead, ("parts", "*faults"))
    elif not _means(pattern, faults):
        near = closest(pattern, faults)
        instead = f"Write '{near}'" if near else "Write part.mode, with * as a wildcard, or remove it"
        found = f"the pattern '{pattern}', which matches no fault"
        yield Finding(path, found, f"a pattern for some of: {choices(faults)}", instead, ("parts", "*faults"))


def _means(pattern: str, faults: Sequence[str]) -> bool:
    return any(fnmatchcase(fault, pattern) or fnmatchcase(pattern, fault) for fault in faults)


def _check_proof(circuit: Circuit) -> Iterator[Finding]:
    proof = circuit.behaviours.get(circuit.proof)
    if proof is None:
        yield unknown(("proof",), "behaviour", circuit.proof, circuit.behaviours, "behaviours")
    elif not any(outcome.good for outcome in proof.outcomes.values()):
        found = f"'{circuit.proof}', none of whose outcomes is good"
        instead = "Write 'good: true' on the outcome of a sound vehicle"
        yield Finding(("proof",), found, "a behaviour with a good outcome", instead)
