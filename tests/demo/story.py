"""The demo's files as the tests read them."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

import yaml

from proveout.circuits import Circuit
from proveout.circuits.loading import read_circuit

__all__ = ["STATES", "netlist", "readings", "scenario", "sheet"]

FOLDER = files("proveout.demo")
STATES = ("before", "after")


@cache
def scenario() -> dict[str, Any]:
    """Return the story."""
    return _loaded("scenario.yaml")


@cache
def readings() -> dict[str, Any]:
    """Return what is seen and read on the vehicle, before and after the repair."""
    return _loaded(scenario()["readings"])


@cache
def sheet() -> Circuit:
    """Return the vehicle's own sheet."""
    name = scenario()["circuit"]
    return read_circuit(FOLDER.joinpath(name).read_text(encoding="utf-8"), name)


def netlist(name: str) -> list[str]:
    """Return the lines of a kept netlist."""
    return FOLDER.joinpath("netlists", name).read_text(encoding="ascii").splitlines()


def _loaded(name: str) -> dict[str, Any]:
    found: dict[str, Any] = yaml.safe_load(FOLDER.joinpath(name).read_text(encoding="utf-8"))
    return found
