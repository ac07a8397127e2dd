"""A network as data: placed elements, their branches, and batches of branch parameters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from proveout.errors import NetworkError
from proveout.network.domains import DOMAINS, ELECTRICAL
from proveout.network.elements import Element
from proveout.network.eliminate import Elimination
from proveout.network.laws import LAWS, Array, Law

__all__ = ["Batch", "Driven", "Group", "Netlist", "PartState", "Placed"]

Index = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Placed:
    """One element in the network: its name, kind, and the nodes at its terminals in the kind's order."""

    name: str
    element: Element
    nodes: tuple[str, ...]


@dataclass(frozen=True)
class PartState:
    """What one element is in one state of the vehicle: parameter values (numbers or (batch,) arrays), on, present."""

    values: Mapping[str, Array | float]
    on: bool = True
    present: bool = True
    forced: bool | None = None


@dataclass(frozen=True)
class Group:
    """All branches of one law: end nodes (branch,), parameter rows (parameter, branch), names of their elements."""

    law: type[Law]
    first: Index
    second: Index
    rows: Index
    owners: tuple[str, ...]

    def across(self, effort: Array) -> Array:
        """Return what the law sees of the efforts (node, batch): differences (branch, batch), or both ends' efforts."""
        if self.law.directed:
            return np.stack([effort[self.first], effort[self.second]])
        return effort[self.first] - effort[self.second]


@dataclass(frozen=True)
class _Gate:
    part: int
    first: int
    second: int
    threshold: str
    rows: Index


@dataclass(frozen=True)
class Driven:
    """The values of a part of which one is an effort of the network: (batch,) arrays, on and there or not."""

    values: Mapping[str, Array]
    on: Flags
    present: Flags

    def take(self, columns: Index | slice) -> Driven:
        """Return those of some variants."""
        values = {name: value[columns] for name, value in self.values.items()}
        return Driven(values, self.on[columns], self.present[columns])


@dataclass(frozen=True)
class Batch:
    """Branch parameters of a batch of variants.

    Attributes
    ----------
    on, off : (row, batch) float
        Parameter values with every gated element on, and off; they differ only in the rows of gated elements, and are
        one array where there is none.
    enabled : (gate, batch) bool
        Whether the set-up lets the gated element be on.
    threshold : (gate, batch) float
        Effort at which the gate opens.
    driven : dict
        For each part with a drive, by number: its values.
    """

    on: Array
    off: Array
    enabled: Flags
    threshold: Array
    driven: dict[int, Driven] = field(default_factory=dict)

    def take(self, columns: Index | slice) -> Batch:
        """Return the batch of some of the variants."""
        on = self.on[:, columns]
        off = on if self.off is self.on else self.off[:, columns]
        driven = {part: held.take(columns) for part, held in self.driven.items()}
        return Batch(on, off, self.enabled[:, columns], self.threshold[:, columns], driven)


class Netlist:
    """A network: `nodes` (ground last), `parts`, the branches grouped by law, the gates, the elimination plan.

    Raises
    ------
    NetworkError
        If an element has the wrong number of nodes, or no element touches `ground`.
    """

    def __init__(
        self,
        parts: Sequence[Placed],
        ground: str,
        leakage: float = 1.0e9,
        leakages: Mapping[str, float] | None = None,
    ) -> None:
        self.parts = tuple(parts)
        self.ground = ground
        self.leakages = {name: domain.leakage for name, domain in DOMAINS.items()}
        self.leakages |= {**(leakages or {}), ELECTRICAL: leakage}
        self.part = {part.name: k for k, part in enumerate(self.parts)}
        names = self._node_names()
        if ground not in names:
            raise NetworkError(
                f"no element touches the ground node '{ground}'; connect the battery's negative post to it"
            )
        self.nodes = (*(n for n in names if n != ground), ground)
        self.node = {name: k for k, name in enumerate(self.nodes)}
        self.domains = self._domains()
        """Physical domain of each node, ground apart."""
        self._place_branches()

    def _domains(self) -> tuple[str, ...]:
        found: dict[str, str] = {}
        for part in self.parts:
            inner = {end: f"{part.name}:{end}" for end in part.element.inner}
            ends = dict(zip(part.element.terminals, part.nodes, strict=True)) | inner
            for end, node in ends.items():
                domain = part.element.domain_of(end)
                if node != self.ground and found.setdefault(node, domain) != domain:
                    raise NetworkError(
                        f"node '{node}' is {found[node]}, but terminal '{end}' of '{part.name}' ({part.element.name}) "
                        f"is {domain}; only the ground node '{self.ground}' belongs to all domains"
                    )
        return tuple(found[node] for node in self.nodes[:-1])

    @cached_property
    def leaks(self) -> Array:
        """Conductance of the leakage from each node to ground, ground apart, (node,)."""
        return np.array([1.0 / self.leakages[domain] for domain in self.domains])

    @cached_property
    def scales(self) -> Array | None:
        """Usual effort of each node, ground last as the least of them, (node,); None where all are 1."""
        usual = [DOMAINS[domain].scale for domain in self.domains]
        return None if set(usual) <= {1.0} else np.array([*usual, min(usual)])

    def _node_names(self) -> dict[str, None]:
        names: dict[str, None] = {}
        for part in self.parts:
            wanted = len(part.element.terminals)
            if len(part.nodes) != wanted:
                raise NetworkError(
                    f"element '{part.name}' ({part.element.name}) has {len(part.nodes)} nodes; it takes {wanted}: "
                    f"{', '.join(part.element.terminals)}"
                )
            names.update(dict.fromkeys(part.nodes))
            names.update(dict.fromkeys(f"{part.name}:{inner}" for inner in part.element.inner))
        return names

    def _place_branches(self) -> None:
        per_law: dict[str, list[tuple[int, int, list[int], str]]] = {}
        self.part_rows: list[list[list[int]]] = []
        self.gates: list[_Gate] = []
        count = 0
        for k, part in enumerate(self.parts):
            ends = self._ends(part)
            blocks = []
            for branch in part.element.branches:
                width = len(LAWS[branch.law].parameters)
                rows = list(range(count, count + width))
                count += width
                blocks.append(rows)
                per_law.setdefault(branch.law, []).append((ends[branch.ends[0]], ends[branch.ends[1]], rows, part.name))
            self.part_rows.append(blocks)
            if part.element.gate is not None:
                gate = part.element.gate
                rows_of = np.array([r for rows in blocks for r in rows], dtype=np.intp)
                self.gates.append(_Gate(k, ends[gate.first], ends[gate.second], gate.threshold, rows_of))
        self.rows = count
        self.groups = tuple(
            Group(
                LAWS[law],
                np.array([b[0] for b in found], dtype=np.intp),
                np.array([b[1] for b in found], dtype=np.intp),
                np.array([b[2] for b in found], dtype=np.intp).T,
                tuple(b[3] for b in found),
            )
            for law, found in per_law.items()
        )

    def _ends(self, part: Placed) -> dict[str, int]:
        ends = {terminal: self.node[node] for terminal, node in zip(part.element.terminals, part.nodes, strict=True)}
        ends.update({inner: self.node[f"{part.name}:{inner}"] for inner in part.element.inner})
        return ends

    def branch_nodes(self, part: int, branch: int) -> tuple[int, int]:
        """Return the numbers of the two nodes of a part's branch, first end first."""
        ends = self._ends(self.parts[part])
        first, second = self.parts[part].element.branches[branch].ends
        return ends[first], ends[second]

    @property
    def size(self) -> int:
        """Number of nodes apart from ground."""
        return len(self.nodes) - 1

    @cached_property
    def pairs(self) -> tuple[tuple[int, int], ...]:
        """Pairs of nodes, ground apart, that a branch joins."""
        found = {
            (int(a), int(b))
            for group in self.groups
            for a, b in zip(group.first, group.second, strict=True)
            if a != b and self.size not in (a, b)
        }
        return tuple(sorted(found))

    @cached_property
    def drives(self) -> dict[int, tuple[int, int]]:
        """The two nodes whose effort difference drives a part, by the part's number."""
        found = {}
        for k, part in enumerate(self.parts):
            if part.element.drive is not None:
                ends = self._ends(part)
                found[k] = (ends[part.element.drive.first], ends[part.element.drive.second])
        return found

    def driven_rows(self, part: int, held: Driven, effort: Array) -> dict[int, Array]:
        """Return parameter row to values (batch,) of a driven part at the efforts (node, batch)."""
        first, second = self.drives[part]
        values = {**held.values, self._driven_parameter(part): effort[first] - effort[second]}
        found: dict[int, Array] = {}
        for on in (True, False):
            blocks = self.branch_parameters(part, PartState(values), on)
            for branch, (rows, block) in enumerate(zip(self.part_rows[part], blocks, strict=True)):
                absent = LAWS[self.parts[part].element.branches[branch].law].absent
                for row, value, gone in zip(rows, block, absent, strict=True):
                    here = np.where(held.present, value, gone)
                    found[row] = here if on else np.where(held.on, found[row], here)
        return found

    def _driven_parameter(self, part: int) -> str:
        drive = self.parts[part].element.drive
        if drive is None:
            raise LookupError(f"part '{self.parts[part].name}' is not driven")
        return drive.parameter

    @cached_property
    def directed(self) -> bool:
        """Whether some branch is directed."""
        return any(group.law.directed for group in self.groups)

    @cached_property
    def elimination(self) -> Elimination:
        """The elimination plan over all branches."""
        return Elimination(self.nodes[:-1], self.pairs)

    def row_name(self, row: int) -> str:
        """Return in words which branch parameter of which element a parameter row holds."""
        for part, blocks in zip(self.parts, self.part_rows, strict=True):
            for branch, rows in zip(part.element.branches, blocks, strict=True):
                if row in rows:
                    parameter = LAWS[branch.law].parameters[row - rows[0]]
                    place = f"the {branch.law} branch {' to '.join(branch.ends)}"
                    return f"parameter {parameter} of {place} of '{part.name}' ({part.element.name})"
        raise LookupError(f"there is no parameter row {row}; there are {self.rows}")

    def batch(self, states: Sequence[PartState], count: int) -> Batch:
        """Return a batch of `count` equal variants; `states` holds one state for each part, in the order of `parts`."""
        gates = len(self.gates)
        on = np.empty((self.rows, count))
        batch = Batch(
            on,
            np.empty((self.rows, count)) if gates else on,
            np.empty((gates, count), dtype=bool),
            np.empty((gates, count)),
            {part: _room(self.parts[part], count) for part in self.drives},
        )
        for k, state in enumerate(states):
            self.vary(batch, k, slice(0, count), state)
        return batch

    def vary(self, batch: Batch, part: int, columns: slice, state: PartState) -> None:
        """Write one part's state into some variants of a batch."""
        gate = next((g for g, found in enumerate(self.gates) if found.part == part), None)
        on_state = state.on if state.forced is None else state.forced
        on = self.branch_parameters(part, state, on_state)
        off = on if gate is None or state.forced is not None else self.branch_parameters(part, state, False)
        for rows, good, idle in zip(self.part_rows[part], on, off, strict=True):
            for row, high, low in zip(rows, good, idle, strict=True):
                batch.on[row, columns] = high
                if batch.off is not batch.on:
                    batch.off[row, columns] = low
        if part in batch.driven:
            held = batch.driven[part]
            held.on[columns], held.present[columns] = on_state, state.present
            for name, value in state.values.items():
                held.values[name][columns] = value
        if gate is not None:
            batch.enabled[gate, columns] = on_state and state.present
            batch.threshold[gate, columns] = state.values[self.gates[gate].threshold]

    def branch_parameters(self, part: int, state: PartState, on: bool) -> tuple[tuple[Array | float, ...], ...]:
        """Return the law parameters of each branch of a part in a state, the part being `on` or not.

        Raises
        ------
        NetworkError
            If they are not finite; the message names the element and the parameters at fault.
        """
        element = self.parts[part].element
        if not state.present:
            return tuple(LAWS[branch.law].absent for branch in element.branches)
        values = {name: np.asarray(value, dtype=float) for name, value in state.values.items()}
        with np.errstate(divide="ignore", invalid="ignore"):
            blocks = element.expand(values, on)
        if not all(np.isfinite(x).all() for block in blocks for x in block):
            raise NetworkError(_unusable(self.parts[part], values))
        return blocks


def _room(part: Placed, count: int) -> Driven:
    values = {name: np.empty(count) for name in part.element.parameters}
    return Driven(values, np.empty(count, dtype=bool), np.empty(count, dtype=bool))


def _unusable(part: Placed, values: Mapping[str, Array]) -> str:
    wrong = [name for name, value in values.items() if np.isnan(value).any()]
    doubtful = wrong or [name for name, value in values.items() if not np.isfinite(value).all() or (value == 0).any()]
    found = ", ".join(f"{name} = {values[name].ravel()[_worst(values[name])]}" for name in doubtful)
    return (
        f"element '{part.name}' ({part.element.name}) has no finite branch values with {found}; "
        f"a parameter must be a number, a closed contact needs a resistance above 0, an open one may be infinite"
    )


def _worst(value: Array) -> int:
    flat = value.ravel()
    return int(np.argmax(np.where(np.isnan(flat), 2, np.where(np.isfinite(flat) & (flat != 0), 0, 1))))
