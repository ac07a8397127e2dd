"""The demo's kept readings are those of its kept netlists, solved here again by ngspice."""

from __future__ import annotations

import re

import numpy as np
import pytest

from demo.story import STATES, netlist, readings, sheet
from proveout.circuits.schema import Check
from proveout.instruments import Function, default_meter
from reference import ngspice
from reference.readings import combine

NAMES = tuple(readings()["measurements"])


def solved(name: str, *wanted: str) -> list[float]:
    """Return node voltages and currents of a kept netlist, by ngspice's names."""
    engine = ngspice()
    engine.load(netlist(name))
    engine.operating_point()
    return engine.scalars(wanted)


def quantity(name: str) -> float:
    """Return what the netlist says is read of it: `* read v(a,b)` or `* read i(v)`."""
    line = next(line for line in netlist(name) if line.startswith("* read "))
    branch = re.fullmatch(r"\* read i\((\w+)\)", line)
    if branch:
        return solved(name, f"{branch[1]}#branch")[0]
    nodes = re.fullmatch(r"\* read v\((\w+),(\w+)\)", line)
    assert nodes, line
    red, black = solved(name, *nodes.groups())
    return red - black


def ohms(name: str, across: float) -> float:
    """Return the resistance that a test voltage behind a resistance finds: R = Rs V / (E - V)."""
    lines = netlist(name)
    emf = float(next(line for line in lines if line.startswith("vmeter ")).split()[-1])
    series = float(next(line for line in lines if line.startswith("rmeter ")).split()[-1])
    return series * across / (emf - across)


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("name", NAMES)
def test_each_reading_is_what_its_netlists_give_on_the_meter(name: str, state: str) -> None:
    function, kept = Function(sheet().measurements[name].function), readings()["measurements"][name][state]
    values = [quantity(deck["file"]) for deck in kept["netlists"]]
    if function is Function.OHMS:
        values = [ohms(deck["file"], value) for deck, value in zip(kept["netlists"], values, strict=True)]
    value = combine(function, values, [deck["share"] for deck in kept["netlists"]])
    assert default_meter().show(function, value) == kept["shown"]
    if kept["value"] is not None:
        assert value == pytest.approx(kept["value"], rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("name", tuple(sheet().behaviours))
def test_each_behaviour_follows_from_the_netlists_without_a_meter(name: str, state: str) -> None:
    outcomes = sheet().behaviours[name].outcomes
    fits = [
        outcome
        for outcome, described in outcomes.items()
        if all(_holds(signal, state) is so for signal, so in described.when.items())
    ]
    assert readings()["behaviours"][name][state] == fits[0]


def _holds(signal: str, state: str) -> bool:
    decks = readings()["signals"][state][signal]
    return all(_check(check, decks) for check in sheet().signals[signal].checks)


def _check(check: Check, decks: list[dict[str, str]]) -> bool:
    assert check.between is not None
    voltages = []
    for deck in decks:
        short = {m[2]: m[1] for m in (re.match(r"\* node (\w+) = (\w+)", line) for line in netlist(deck["file"])) if m}
        first, second = solved(deck["file"], *(short[node] for node in check.between))
        voltages.append(first - second)
    shares = np.array([deck["share"] for deck in decks], dtype=float)
    value = {"mean": shares @ np.array(voltages), "low": min(voltages), "high": max(voltages)}[check.quantity]
    return (check.at_least is None or value >= check.at_least) and (check.at_most is None or value <= check.at_most)


@pytest.mark.parametrize("state", STATES)
def test_the_terminal_has_its_resistance_in_every_netlist(state: str) -> None:
    """The one thing that the repair changes is the corroded terminal's contact resistance."""
    place = list(sheet().parts).index("t_ce_low")
    decks = {deck["file"] for m in readings()["measurements"].values() for deck in m[state]["netlists"]}
    lines = [line.split() for deck in decks for line in netlist(deck) if re.match(rf"rp{place} ", line)]
    found = {float(words[-1]) for words in lines}
    assert found == {520.0 if state == "before" else 0.005}
