"""The invented demo case as it comes in: the events that open it."""

from __future__ import annotations

from functools import cache
from importlib import resources
from typing import Any

import yaml

from proveout.cases.circuit_change import chosen
from proveout.cases.events import CircuitChosen, Opened, made
from proveout.circuits.loading import read_circuit

__all__ = ["demo_events", "demo_file", "demo_readings", "demo_scenario"]


def demo_file(name: str) -> str:
    """Return the text of one of the demo's files."""
    return (resources.files(__package__) / name).read_text(encoding="utf-8")


@cache
def demo_scenario() -> dict[str, Any]:
    """Return the scenario: what came in, what the vehicle would show, what was really done."""
    return dict(yaml.safe_load(demo_file("scenario.yaml")))


@cache
def demo_readings() -> dict[str, Any]:
    """Return what every test on the vehicle would show, before and after its repair."""
    return dict(yaml.safe_load(demo_file(demo_scenario()["readings"])))


def demo_events() -> tuple[Opened, CircuitChosen]:
    """Return the opening of the demo case and its circuit."""
    scenario = demo_scenario()
    text = demo_file(scenario["circuit"])
    circuit = read_circuit(text, scenario["circuit"])
    return made(Opened, **scenario["opening"]), chosen(circuit, text)
