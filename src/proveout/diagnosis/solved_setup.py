"""All observables of one set-up over all rows: the solved phases, slopes by the adjoint of the same elimination."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.circuits.assemble import Assembly, PhaseState, phases_of
from proveout.diagnosis.latents import Latents
from proveout.diagnosis.observables import Observable
from proveout.diagnosis.reach import parts_between
from proveout.diagnosis.variants import Variant, fill
from proveout.network import (
    ELEMENTS,
    Adjoint,
    Batch,
    Netlist,
    Placed,
    Solution,
    adjoint,
    sensitivities,
    solve_steady,
)
from proveout.network.laws import LAWS, Array

__all__ = ["FAR", "OhmsSource", "Seen", "SolvedSetup"]

Index = npt.NDArray[np.intp]
Pair = tuple[int, int]
Changes = Sequence[Mapping[int, Array]]
FAR = 1.0e12
CHUNK_CELLS = 4_000_000  # node x pair x row of one adjoint: bounds the memory of large circuits


@dataclass(frozen=True)
class OhmsSource:
    """The meter's ohms source: open-circuit voltage [V] behind a resistance [ohm].

    `leads` [ohm] is the standard uncertainty of what leads and probe tips add, the same in all readings of a case.
    """

    voltage: float
    resistance: float
    leads: float = 0.0


@dataclass(frozen=True)
class Seen:
    """Values (row, observable) and slopes (row, observable, latent): tolerances, insulations, leakage."""

    value: Array
    slope: Array


@dataclass(frozen=True)
class _Linearised:
    """A solved phase for some rows: the adjoint of some pairs, slopes (pair, latent, row), and latents' changes."""

    solution: Solution
    found: Adjoint
    slopes: Array
    changes: Changes
    place: Mapping[Pair, int]

    def drop(self, pair: Pair) -> Array:
        return self.solution.effort[pair[0]] - self.solution.effort[pair[1]]


class SolvedSetup:
    """One set-up of a circuit with all its variants."""

    def __init__(
        self, assembly: Assembly, setup: str, variants: Sequence[Variant], rows: int, source: OhmsSource
    ) -> None:
        self.assembly, self.variants, self.rows, self.source = assembly, variants, rows, source
        self.netlist = assembly.netlist
        self.phases = phases_of(assembly, setup)
        self.batches = [fill(self.netlist, phase, variants, rows) for phase in self.phases]
        self.latents = [
            Latents(assembly, phase, variants, batch) for phase, batch in zip(self.phases, self.batches, strict=True)
        ]
        self.width = len(self.latents[0]) + 1

    def levels(self, observables: Sequence[Observable]) -> Iterator[tuple[slice, Seen]]:
        """Yield what voltages and currents are, for some rows at a time."""
        starts = [_sound_start(self.netlist, phase) for phase in self.phases]
        pairs = list(dict.fromkeys(pair for o in observables for pair in self._pairs(o)))
        step = max(64, CHUNK_CELLS // (len(self.netlist.nodes) * max(len(pairs), 1)))
        for begin in range(0, self.rows, step):
            rows = slice(begin, min(begin + step, self.rows))
            phases = [self._levels_in(k, start, rows, observables, pairs) for k, start in enumerate(starts)]
            yield rows, self._combined(observables, phases)

    def _combined(self, observables: Sequence[Observable], phases: Sequence[Seen]) -> Seen:
        shares = np.array([phase.share for phase in self.phases])
        values, slopes = np.stack([p.value for p in phases]), np.stack([p.slope for p in phases])
        whole = Seen(np.empty(values.shape[1:]), np.empty(slopes.shape[1:]))
        for k, o in enumerate(observables):
            whole.value[:, k], whole.slope[:, k] = _combine(o.quantity, values[:, :, k], slopes[:, :, k], shares)
        return whole

    def _levels_in(
        self, phase: int, start: Array, rows: slice, observables: Sequence[Observable], pairs: Sequence[Pair]
    ) -> Seen:
        batch = _columns(self.batches[phase], rows)
        count = rows.stop - rows.start
        solution = solve_steady(self.netlist, batch, np.repeat(start, count, axis=1))
        at = self._linearised(self.netlist, solution, pairs, self.latents[phase], rows)
        seen = Seen(np.empty((count, len(observables))), np.empty((count, len(observables), self.width)))
        for k, o in enumerate(observables):
            value, slope = self._current(o, at) if o.quantity == "current" else self._effort(o, at)
            seen.value[:, k], seen.slope[:, k] = value, slope.T
        return seen

    def _linearised(
        self, netlist: Netlist, solution: Solution, pairs: Sequence[Pair], latents: Latents, rows: slice | Index
    ) -> _Linearised:
        found = adjoint(netlist, solution, pairs)
        changes = latents.changes(solution.parameters, solution.on, rows)
        by_change = sensitivities(netlist, solution, found, changes)
        by_leakage = -np.einsum("npr,nr->pr", found.field[:-1], solution.effort[:-1]) / netlist.leakage
        slopes = np.concatenate([by_change, by_leakage[:, None]], axis=1)
        return _Linearised(solution, found, slopes, changes, {pair: k for k, pair in enumerate(pairs)})

    def _pairs(self, o: Observable) -> list[Pair]:
        """Return the pairs of nodes whose effort differences an observable needs."""
        if o.quantity == "current":
            return [ends for ends, _, _ in self._branches(o.part)]
        return [(self.netlist.node[o.red], self.netlist.node[o.black])]

    def _branches(self, name: str) -> list[tuple[Pair, float, int]]:
        """Return ends, sign and number of the branches whose flows add up to that into the part's first terminal."""
        part = self.netlist.part[name]
        element, first = self.netlist.parts[part].element, self.netlist.parts[part].element.terminals[0]
        signs = {0: 1.0, 1: -1.0}
        return [
            (self.netlist.branch_nodes(part, k), signs[branch.ends.index(first)], k)
            for k, branch in enumerate(element.branches)
            if first in branch.ends
        ]

    def _effort(self, o: Observable, at: _Linearised) -> tuple[Array, Array]:
        """Return an effort difference under the instrument's load, and its slopes (latent, row)."""
        (pair,) = self._pairs(o)
        k = at.place[pair]
        share = 1.0 / (1.0 + at.found.resistance[k] / o.load)
        return at.drop(pair) * share, at.slopes[k] * share

    def _current(self, o: Observable, at: _Linearised) -> tuple[Array, Array]:
        """Return the flow into a part's first terminal with the instrument in series, and its slopes (latent, row).

        d flow = (d flow / d drop) d drop + (d flow / d parameter) d parameter, over the branches at that terminal.
        """
        part = self.netlist.part[o.part]
        element = self.netlist.parts[part].element
        flow, slope = np.zeros(at.solution.effort.shape[1]), np.zeros(at.slopes.shape[1:])
        conductance, resistance = np.zeros(len(flow)), np.zeros(len(flow))
        for pair, sign, branch in self._branches(o.part):
            law, rows = LAWS[element.branches[branch].law], self.netlist.part_rows[part][branch]
            k, drop, parameters = at.place[pair], at.drop(pair), at.solution.parameters[rows]
            by_drop, by_parameter = law.tangent(drop, parameters)[1], law.by_parameter(drop, parameters)
            flow += sign * law.flow(drop, parameters)
            slope += sign * by_drop * at.slopes[k]
            for z, change in enumerate(at.changes):
                for place in set(rows) & change.keys():
                    slope[z] += sign * by_parameter[rows.index(place)] * change[place]
            conductance, resistance = conductance + by_drop, at.found.resistance[k]
        # In series with a part of two terminals the shunt sees 1 / (g (1 - g R)), R the inner resistance across it.
        seen = conductance * (1.0 - conductance * resistance) if len(element.terminals) == 2 else 0.0 * conductance
        share = _burden_share(o.burden, flow, np.maximum(seen, 0.0))
        return flow * share, slope * share

    def ohms(self, o: Observable) -> tuple[Index, Seen]:
        """Return which rows an ohms test may tell from the sound one, first of all row 0, and what it shows in them."""
        rows = self._rows_that_matter(o)
        net = _with_meter(self.netlist, o)
        g = 1.0 / self.source.resistance
        meter = np.repeat([[g], [g * self.source.voltage]], len(rows), axis=1)
        part = self.batches[0].take(rows)
        wired = Batch(np.vstack([part.on, meter]), np.vstack([part.off, meter]), part.enabled, part.threshold)
        pair = (net.node[o.red], net.node[o.black])
        at = self._linearised(net, solve_steady(net, wired), [pair], self.latents[0], rows)
        left = self.source.voltage - at.drop(pair)
        with np.errstate(divide="ignore", invalid="ignore"):
            shown = self.source.resistance * at.drop(pair) / left
            per_volt = self.source.resistance * self.source.voltage / left**2
        beyond = (left <= 0) | ~(shown < FAR)
        slopes = np.where(beyond, 0.0, per_volt * at.slopes[0]).T
        return rows, Seen(np.where(beyond, FAR, shown)[:, None], slopes[:, None])

    def _rows_that_matter(self, o: Observable) -> Index:
        """Return the sound row and those of faults that lie between the two points, or bring a bridge there."""
        bridges = self.assembly.circuit.bridges
        states = self.phases[0].states
        between = parts_between(self.assembly, states, o.red, o.black)
        bridged = parts_between(self.assembly, states, o.red, o.black, bridges=True) & bridges.keys()
        chosen = [v for v in self.variants if any(f.part in between or f.part in bridged for f in v.faults)]
        return np.concatenate([np.array([0]), *(np.arange(v.first, v.first + v.count) for v in chosen)])


def _columns(batch: Batch, rows: slice) -> Batch:
    on = batch.on[:, rows]
    off = on if batch.off is batch.on else batch.off[:, rows]
    return Batch(on, off, batch.enabled[:, rows], batch.threshold[:, rows])


def _with_meter(netlist: Netlist, o: Observable) -> Netlist:
    meter = Placed("meter", ELEMENTS["meter_load"], (o.red, o.black))
    return Netlist((*netlist.parts, meter), netlist.ground, netlist.leakage)


def _sound_start(netlist: Netlist, phase: PhaseState) -> Array:
    return solve_steady(netlist, netlist.batch(phase.states, 1)).effort


def _burden_share(burden: Sequence[tuple[float, float]], flow: Array, conductance: Array) -> Array:
    """Return the share of a current that flows with the instrument's shunt in series, on the range that holds it.

    The ranges are (full scale, shunt), ascending; `conductance` is what the shunt sees in series.
    """
    share, settled = np.ones_like(flow), np.zeros(len(flow), dtype=bool)
    for full_scale, shunt in burden:
        tried = 1.0 / (1.0 + shunt * conductance)
        share = np.where(settled, share, tried)
        settled |= np.abs(flow * tried) <= full_scale
    return share


def _combine(quantity: str, values: Array, slopes: Array, shares: Array) -> tuple[Array, Array]:
    """Combine phases: values (phase, row), slopes (phase, row, latent), shares (phase,)."""
    every = np.arange(values.shape[1])
    low, high = values.argmin(axis=0), values.argmax(axis=0)
    mean = shares @ values
    if quantity in ("mean", "current"):
        return mean, np.tensordot(shares, slopes, axes=1)
    if quantity == "low":
        return values[low, every], slopes[low, every]
    if quantity == "high":
        return values[high, every], slopes[high, every]
    if quantity == "swing":
        return values[high, every] - values[low, every], slopes[high, every] - slopes[low, every]
    away = values - mean
    rms = np.sqrt(shares @ away**2)
    lever = shares[:, None] * away / np.maximum(rms, 1e-12)
    return rms, np.einsum("pr,prk->rk", lever, slopes)
