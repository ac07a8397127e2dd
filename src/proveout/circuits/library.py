"""The ready circuits that come with the package, and their service charts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType

import yaml

from proveout.circuits.finding import closest
from proveout.circuits.loading import read_chart, read_circuit
from proveout.circuits.schema import Circuit
from proveout.circuits.service_chart import ServiceChart
from proveout.errors import InputError

__all__ = ["chart_names", "chart_text", "ready_chart", "ready_circuit", "ready_names", "ready_text", "ready_titles"]

_TITLE = re.compile(r"^title:.*$", re.MULTILINE)


@cache
def ready_names() -> tuple[str, ...]:
    """Return the names of the ready circuits in alphabetic order."""
    return _names("library")


@cache
def chart_names() -> tuple[str, ...]:
    """Return the names of the ready circuits that have a service chart."""
    return _names("charts")


@cache
def ready_titles() -> Mapping[str, str]:
    """Return name: title of every ready circuit; reads the title lines only."""
    return MappingProxyType({name: _title(ready_text(name)) for name in ready_names()})


def ready_text(name: str) -> str:
    """Return the text of a ready circuit's file.

    Raises
    ------
    InputError
        There is no ready circuit of that name.
    """
    return _file("library", name, ready_names(), "ready circuit").read_text(encoding="utf-8")


def chart_text(name: str) -> str:
    """Return the text of the file of a service chart.

    Raises
    ------
    InputError
        There is no chart of that name.
    """
    return _file("charts", name, chart_names(), "service chart").read_text(encoding="utf-8")


@cache
def ready_circuit(name: str) -> Circuit:
    """Return a ready circuit; raises `InputError` as `ready_text`."""
    return read_circuit(ready_text(name), f"{name}.yaml")


@cache
def ready_chart(name: str) -> ServiceChart:
    """Return the service chart of the ready circuit `name`; raises `InputError` as `chart_text`."""
    return read_chart(chart_text(name), ready_circuit(name), f"charts/{name}.yaml")


def _names(folder: str) -> tuple[str, ...]:
    files = resources.files(__package__) / folder
    if not files.is_dir():
        return ()
    return tuple(sorted(file.name.removesuffix(".yaml") for file in files.iterdir() if file.name.endswith(".yaml")))


def _file(folder: str, name: str, names: tuple[str, ...], what: str) -> Traversable:
    if name not in names:
        near = closest(name, names)
        advice = f"did you mean '{near}'?" if near else "choose one of these"
        raise InputError(f"no {what} '{name}'; there are: {', '.join(names)}; {advice}")
    return resources.files(__package__) / folder / f"{name}.yaml"


def _title(text: str) -> str:
    line = _TITLE.search(text)
    return str(yaml.safe_load(line[0])["title"]) if line else ""
