"""Fault variants of a circuit laid out as rows of one batch: row 0 sound, then each fault at each severity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from proveout.circuits.assemble import PhaseState
from proveout.diagnosis.faults import Fault, severity_grid
from proveout.network import Batch, Netlist, PartState
from proveout.network.laws import Array

__all__ = ["PartRows", "Variant", "fill", "part_rows", "single_fault_variants"]

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Variant:
    """One fault mode over its severities: which part, its parameter's values (severity,), where its rows begin."""

    faults: tuple[Fault, ...]
    severities: tuple[Array, ...]
    first: int

    @property
    def count(self) -> int:
        """Number of rows."""
        return len(self.severities[0])

    @property
    def rows(self) -> slice:
        """The rows of the prediction arrays that belong to it."""
        return slice(self.first, self.first + self.count)


@dataclass(frozen=True)
class PartRows:
    """One part over all rows.

    `values` are (row,) each, `set_by_fault` says in which rows a fault gives a value that no longer hangs on the sound
    one; `on` (row,) is what set-up or fault want, `held` where a fault does.
    """

    values: dict[str, Array]
    set_by_fault: dict[str, Flags]
    on: Flags
    held: Flags


def single_fault_variants(faults: Sequence[Fault], severities: int) -> tuple[Variant, ...]:
    """Lay out one variant for each fault, after the sound row."""
    variants, first = [], 1
    for fault in faults:
        grid = severity_grid(fault.mode, severities)
        variants.append(Variant((fault,), (grid,), first))
        first += len(grid)
    return tuple(variants)


def fill(netlist: Netlist, phase: PhaseState, variants: Sequence[Variant], rows: int) -> Batch:
    """Return the batch of all rows in one phase."""
    batch = netlist.batch(phase.states, rows)
    for variant in variants:
        states: dict[int, PartState] = {}
        for fault, grid in zip(variant.faults, variant.severities, strict=True):
            part = netlist.part[fault.part]
            states[part] = _faulted(states.get(part, phase.states[part]), fault, grid)
        for part, state in states.items():
            netlist.vary(batch, part, variant.rows, state)
    return batch


def _faulted(state: PartState, fault: Fault, grid: Array) -> PartState:
    mode = fault.mode
    if mode.forced is not None:
        return replace(state, forced=mode.forced)
    name = str(mode.parameter)
    return replace(state, values={**state.values, name: _severe(fault, grid, state.values[name])})


def _severe(fault: Fault, grid: Array, good: Array | float) -> Array:
    return grid * good if fault.mode.relative else grid


def part_rows(phase: PhaseState, variants: Sequence[Variant], rows: int, part: str, index: int) -> PartRows:
    """Return one part (number `index` of the netlist) over all rows in one phase."""
    state = phase.states[index]
    values = {name: np.full(rows, float(np.asarray(value))) for name, value in state.values.items()}
    free = {name: np.zeros(rows, dtype=bool) for name in values}
    found = PartRows(values, free, np.full(rows, state.on), np.zeros(rows, dtype=bool))
    for variant in variants:
        for fault, grid in zip(variant.faults, variant.severities, strict=True):
            if fault.part != part:
                continue
            if fault.mode.forced is not None:
                found.on[variant.rows] = fault.mode.forced
                found.held[variant.rows] = True
            else:
                name = str(fault.mode.parameter)
                values[name][variant.rows] = _severe(fault, grid, values[name][variant.rows])
                found.set_by_fault[name][variant.rows] |= not fault.mode.relative
    return found
