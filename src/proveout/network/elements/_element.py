"""What an element kind declares: terminals, parameters, branches and the ways in which it fails."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from proveout.network.domains import DOMAINS, ELECTRICAL
from proveout.network.laws import LAWS, Array

__all__ = ["Branch", "Drive", "Element", "FaultMode", "Gate", "Parameter", "check", "conductance"]

Values = Mapping[str, Array]
Expansion = Callable[[Values, bool], tuple[tuple[Array | float, ...], ...]]


@dataclass(frozen=True)
class Parameter:
    """One quantity of an element: SI unit (degree Celsius for temperatures, mm2 for cross-sections) and what it is."""

    unit: str
    meaning: str
    default: float | None = None
    low: float = 0.0
    high: float = float("inf")
    surroundings: str = ""
    """What of the surroundings it is where a file says nothing: `air_pressure`."""


@dataclass(frozen=True)
class Branch:
    """One branch of the element: its law and its two ends, named after the element's terminals or inner nodes."""

    law: str
    ends: tuple[str, str]


@dataclass(frozen=True)
class Gate:
    """The element is on only while the effort from `first` to `second` is at least the named parameter."""

    first: str
    second: str
    threshold: str


@dataclass(frozen=True)
class Drive:
    """A parameter of the element is the effort from `first` to `second`: what couples one domain to another.

    The efforts at these two ends must not hang on the branches that the parameter changes, or only settle with them.
    """

    parameter: str
    first: str
    second: str


@dataclass(frozen=True)
class FaultMode:
    """One way to fail.

    The named parameter takes values from `low` to `high`, evenly spread in logarithm (a severity), as such or, if
    `relative`, as a multiple of the good value. A mode with one value has `low` equal to `high`. `forced` holds the
    element on or off instead. `weight` is the relative frequency inside the replaceable unit; `intermittent` says that
    the fault may come and go. Weights are common practice unless a circuit file says otherwise.
    """

    name: str
    title: str
    weight: float
    parameter: str | None = None
    low: float = 0.0
    high: float = 0.0
    relative: bool = False
    forced: bool | None = None
    intermittent: bool = False


@dataclass(frozen=True)
class Element:
    """An element kind; `expand(values, on)` gives the parameter values of each branch, arrays or numbers."""

    name: str
    title: str
    terminals: tuple[str, ...]
    parameters: Mapping[str, Parameter]
    branches: tuple[Branch, ...]
    expand: Expansion
    faults: tuple[FaultMode, ...] = ()
    inner: tuple[str, ...] = ()
    gate: Gate | None = None
    drive: Drive | None = None
    switched: bool = False
    """Whether the element has two states that a set-up chooses (`when` in a circuit file)."""
    storage: Mapping[int, str] = field(default_factory=dict)
    """Branch number to the parameter that stores: a capacitance ('capacitance') or an inductance ('inductance').

    Branches of a storing law (`laws.Store`) say themselves what they store.
    """
    domains: tuple[str, ...] = ()
    """Physical domain of each terminal, then of each inner node; one name stands for all of them, none for electrical.
    """

    def domain_of(self, end: str) -> str:
        """Return the physical domain of a terminal or an inner node."""
        if len(self.domains) <= 1:
            return self.domains[0] if self.domains else ELECTRICAL
        return self.domains[(*self.terminals, *self.inner).index(end)]


def conductance(resistance: Array | float) -> Array:
    """Return 1 / resistance, exactly 0 for an infinite one."""
    return np.asarray(1.0 / np.asarray(resistance, dtype=float))


def check(element: Element) -> None:
    """Check an element kind as it is registered.

    Raises
    ------
    ValueError
        If a branch, gate or fault mode names what the element does not have; the message names the kind and the place.
    """
    ends = {*element.terminals, *element.inner}
    for branch in element.branches:
        _require(element, branch.law in LAWS, f"branch law '{branch.law}' is not one of {sorted(LAWS)}")
        _require(element, set(branch.ends) <= ends, f"branch ends {branch.ends} are not among {sorted(ends)}")
    if element.gate is not None:
        gate = element.gate
        _require(element, {gate.first, gate.second} <= ends, f"gate {gate} names no terminal")
        _require(element, gate.threshold in element.parameters, f"gate threshold '{gate.threshold}' is no parameter")
    if element.drive is not None:
        drive = element.drive
        _require(element, {drive.first, drive.second} <= ends, f"drive {drive} names no terminal")
        _require(element, drive.parameter in element.parameters, f"driven '{drive.parameter}' is no parameter")
        _require(element, element.gate is None, "an element has a gate or a drive, not both")
    known_domains = set(element.domains) <= DOMAINS.keys() and len(element.domains) in (0, 1, len(ends))
    _require(element, known_domains, f"domains {element.domains} are not one or one for each end of {sorted(DOMAINS)}")
    names = [mode.name for mode in element.faults]
    _require(element, len(names) == len(set(names)), f"fault modes {names} repeat a name")
    for mode in element.faults:
        known = mode.parameter is None or mode.parameter in element.parameters
        _require(element, known, f"fault mode '{mode.name}' changes the unknown parameter '{mode.parameter}'")
        _require(
            element, 0 <= mode.low <= mode.high, f"fault mode '{mode.name}' has a range from {mode.low} to {mode.high}"
        )
        acts = (mode.parameter is None) != (mode.forced is None)
        _require(element, acts, f"fault mode '{mode.name}' must change one parameter or force one state")


def _require(element: Element, condition: bool, text: str) -> None:
    if not condition:
        raise ValueError(f"element kind '{element.name}': {text}")
