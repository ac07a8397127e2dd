"""How branch parameters move with what is not known exactly: tolerances, and the scatter of joints and insulation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from proveout.circuits.assemble import Assembly, PhaseState, tolerances
from proveout.diagnosis.variants import PartRows, Variant, part_rows
from proveout.network import Batch, Netlist, PartState
from proveout.network.laws import Array

__all__ = ["Latents"]

Tolerance = tuple[str, str, float, bool]
Flags = npt.NDArray[np.bool_]
SCATTER = {"bridge": 1.0, "terminal": 0.7, "fuse": 0.5, "switch": 0.7, "wire": 0.1}
"""Relative standard deviation of a sound element's conductance from vehicle to vehicle: common practice."""
STEP = 1e-2  # of a standard deviation: half-width of the central difference


class Latents:
    """The standard normal latents of a circuit in one phase of a set-up: its tolerances, then its scatter.

    Scatter is what no drawing tells: contact resistances, the length a wire really has, insulation; a part whose
    tolerance the drawing tells has none.

    Parameters
    ----------
    assembly : Assembly
    phase : PhaseState
    variants : sequence of Variant
    batch : Batch
        Of all rows.
    """

    def __init__(self, assembly: Assembly, phase: PhaseState, variants: Sequence[Variant], batch: Batch) -> None:
        netlist = assembly.netlist
        rows = batch.on.shape[1]
        self.known = tolerances(assembly)
        self._varied = [_Varied(netlist, phase, variants, rows, tolerance) for tolerance in self.known]
        told = {part for part, *_ in tolerances(assembly)}
        scattered = [
            (k, SCATTER[p.element.name])
            for k, p in enumerate(netlist.parts)
            if p.element.name in SCATTER and p.name not in told
        ]
        first = [(netlist.part_rows[k][0][0], spread) for k, spread in scattered]
        self._scatter = {row: (float(batch.on[row, 0]), spread) for row, spread in first}

    def __len__(self) -> int:
        """Number of latents."""
        return len(self._varied) + len(self._scatter)

    def changes(
        self,
        parameters: Array,
        on: Flags,
        rows: slice | npt.NDArray[np.intp],
        driven: Mapping[int, Array] = MappingProxyType({}),
    ) -> list[Mapping[int, Array]]:
        """Return for each latent how the parameter rows move with it, parameter row to (row,).

        Parameters
        ----------
        parameters : (parameter row, row) float
            In force in these rows.
        on : (gate, row) bool
            Which gated elements are on in them.
        rows : slice or (row,) int
            Which of the batch's rows they are.
        driven : mapping, optional
            For each driven part, by number, the effort (row,) that drives it.
        """
        found: list[Mapping[int, Array]] = [varied.change(on, rows, driven) for varied in self._varied]
        # A bad joint or a shorted insulation is a severity, known by its own grid; only the sound one scatters.
        return found + [
            {row: np.where(parameters[row] == sound, spread * parameters[row], 0.0)}
            for row, (sound, spread) in self._scatter.items()
        ]


class _Varied:
    """One tolerance: how its part's rows move with it while the part is on, and while it is off."""

    def __init__(
        self, netlist: Netlist, phase: PhaseState, variants: Sequence[Variant], rows: int, tolerance: Tolerance
    ) -> None:
        part = netlist.part[tolerance[0]]
        state, self._part = phase.states[part], part_rows(phase, variants, rows, tolerance[0], part)
        self._netlist, self._number, self._state, self._tolerance = netlist, part, state, tolerance
        drive = netlist.parts[part].element.drive
        self._driven = drive.parameter if drive is not None else ""
        self._gate = next((g for g, gate in enumerate(netlist.gates) if gate.part == part), None)
        self._rows = [row for block in netlist.part_rows[part] for row in block]
        states = (True, False) if self._gate is not None else tuple(set(self._part.on.tolist()))
        self._slopes = {on: _slopes(netlist, part, state, self._part, tolerance, on) for on in states}

    def change(
        self, gates_on: Flags, rows: slice | npt.NDArray[np.intp], driven: Mapping[int, Array]
    ) -> dict[int, Array]:
        on = self._part.on[rows]
        if self._number in driven:
            return self._driven_change(rows, driven[self._number])
        if self._gate is not None:
            on = np.where(self._part.held[rows], on, gates_on[self._gate])
        found = {}
        for k, row in enumerate(self._rows):
            slope = np.zeros(len(on))
            for state, slopes in self._slopes.items():
                slope = np.where(on == state, slopes[k][rows], slope)
            if slope.any():
                found[row] = slope
        return found

    def _driven_change(self, rows: slice | npt.NDArray[np.intp], effort: Array) -> dict[int, Array]:
        """Return how the rows of a part that an effort drives move at that effort, (row,)."""
        part = self._part
        here = PartRows(
            {name: value[rows] for name, value in part.values.items()} | {self._driven: effort},
            {name: flags[rows] for name, flags in part.set_by_fault.items()},
            part.on[rows],
            part.held[rows],
        )
        slopes = _slopes(self._netlist, self._number, self._state, here, self._tolerance, True)
        return {row: slope for row, slope in zip(self._rows, slopes, strict=True) if slope.any()}


def _slopes(
    netlist: Netlist, part: int, state: PartState, rows: PartRows, tolerance: Tolerance, on: bool
) -> list[Array]:
    """Return d parameter row / d latent, (row,) each, by central differences."""
    _, parameter, spread, relative = tolerance
    value = rows.values[parameter]
    known = rows.set_by_fault[parameter] | ~np.isfinite(value)
    width = np.where(known, 0.0, np.abs(np.where(known, 0.0, value)) * spread if relative else spread)
    ends = []
    for sign in (1.0, -1.0):
        moved = PartState({**rows.values, parameter: value + sign * STEP * width}, on, state.present)
        ends.append([x for block in netlist.branch_parameters(part, moved, on) for x in block])
    return [np.broadcast_to((up - down) / (2.0 * STEP), value.shape) for up, down in zip(*ends, strict=True)]
