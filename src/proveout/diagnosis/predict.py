"""What every observable would be under every fault and severity, with its slopes by tolerances and severity.

All variants of a set-up (sound, then each fault at each severity) are one batch of the network solver; slopes come from
the adjoint of the same elimination.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from proveout.circuits.assemble import Assembly, PhaseState, phases_of, tolerances
from proveout.diagnosis.faults import Fault, severity_grid
from proveout.diagnosis.observables import Observable
from proveout.diagnosis.reach import parts_between
from proveout.network import (
    ELEMENTS,
    Adjoint,
    Batch,
    Netlist,
    PartState,
    Placed,
    Solution,
    adjoint,
    flow_through,
    row_slopes,
    sensitivities,
    solve_steady,
)
from proveout.network.laws import Array

__all__ = ["OhmsSource", "Predictions", "Variant", "predict", "single_fault_variants"]

Index = npt.NDArray[np.intp]
Progress = Callable[[float], None]
FAR = 1.0e12
STRAY_SPREAD = 1.0  # relative standard deviation of leakage and insulation: common practice, they vary by decades


@dataclass(frozen=True)
class OhmsSource:
    """The meter's ohms source: open-circuit voltage [V] behind a resistance [ohm]."""

    voltage: float
    resistance: float


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
class Predictions:
    """Predictions for G rows (row 0 sound, then faults x severities), X observables and K latents.

    Attributes
    ----------
    mean : (G, X) float
        In SI units; 1e12 where a resistance is beyond any meter.
    slopes : (G, X, K) float
        By standard normal latents: one for each tolerance of the circuit, the last for the place within the severity
        cell (a uniform place has variance 1/12, put in here).
    rough : (G, X) float
        Variance of what no latent carries: the bend between severities, and leakage and insulation, which are known to
        an order of magnitude at best, so that a ghost voltage tells little.
    """

    observables: tuple[Observable, ...]
    variants: tuple[Variant, ...]
    mean: Array
    slopes: Array
    rough: Array


def single_fault_variants(faults: Sequence[Fault], severities: int) -> tuple[Variant, ...]:
    """Lay out one variant for each fault, after the sound row."""
    variants, first = [], 1
    for fault in faults:
        grid = severity_grid(fault.mode, severities)
        variants.append(Variant((fault,), (grid,), first))
        first += len(grid)
    return tuple(variants)


def predict(
    assembly: Assembly,
    variants: Sequence[Variant],
    observables: Sequence[Observable],
    source: OhmsSource,
    progress: Progress | None = None,
) -> Predictions:
    """Compute all predictions of a circuit.

    Parameters
    ----------
    assembly : Assembly
    variants : sequence of Variant
        Laid out without gaps from row 1.
    observables : sequence of Observable
    source : OhmsSource
    progress : callable, optional
        Called with the share done.

    Returns
    -------
    Predictions

    Raises
    ------
    NetworkError
        If a variant of the network cannot be solved; the message names node and element.
    """
    rows = 1 + sum(v.count for v in variants)
    latents = tolerances(assembly)
    mean = np.zeros((rows, len(observables)))
    slopes = np.zeros((rows, len(observables), len(latents) + 1))
    rough = np.zeros_like(mean)
    setups = list(dict.fromkeys(o.setup for o in observables))
    for done, setup in enumerate(setups):
        wanted = [k for k, o in enumerate(observables) if o.setup == setup]
        chosen = [observables[k] for k in wanted]
        job = _SetupJob(assembly, setup, variants, rows, latents, source)
        mean[:, wanted], by_latent = job.observe(chosen)
        slopes[:, wanted, :-1] = by_latent[:, :, : len(latents)]
        rough[:, wanted] = np.sum((STRAY_SPREAD * by_latent[:, :, len(latents) :]) ** 2, axis=2)
        if progress is not None:
            progress((done + 1) / len(setups))
    for variant in variants:
        slopes[variant.rows, :, -1], bend = _between_grid_points(mean[variant.rows])
        rough[variant.rows] += bend
    return Predictions(tuple(observables), tuple(variants), mean, slopes, rough)


def _between_grid_points(mean: Array) -> tuple[Array, Array]:
    """Return the slope by the place in the severity cell, in standard deviations, and the variance of the bend."""
    if len(mean) < 2:
        return np.zeros_like(mean), np.zeros_like(mean)
    bounded = np.minimum(mean, FAR)
    step = np.gradient(bounded, axis=0)
    bend = np.zeros_like(mean)
    bend[1:-1] = bounded[2:] - 2.0 * bounded[1:-1] + bounded[:-2]
    return step / np.sqrt(12.0), (bend / 8.0) ** 2


class _SetupJob:
    """The solved phases of one set-up for all variants."""

    def __init__(
        self,
        assembly: Assembly,
        setup: str,
        variants: Sequence[Variant],
        rows: int,
        latents: Sequence[tuple[str, str, float, bool]],
        source: OhmsSource,
    ) -> None:
        self.assembly, self.setup, self.variants, self.rows, self.source = assembly, setup, variants, rows, source
        self.netlist = assembly.netlist
        self.phases = phases_of(assembly, setup)
        self.latents = latents
        self.insulation = [self.netlist.part_rows[self.netlist.part[name]][0][0] for name in assembly.circuit.bridges]
        self.width = len(latents) + len(self.insulation) + 1

    def observe(self, observables: Sequence[Observable]) -> tuple[Array, Array]:
        """Return means (row, observable) and slopes (row, observable, latent): tolerances, insulations, leakage."""
        mean = np.zeros((self.rows, len(observables)))
        slopes = np.zeros((self.rows, len(observables), self.width))
        ohms = [k for k, o in enumerate(observables) if o.quantity == "ohms"]
        rest = [k for k, o in enumerate(observables) if o.quantity != "ohms"]
        batches = [_fill(self.netlist, phase, self.variants, self.rows) for phase in self.phases]
        starts = [_sound_start(self.netlist, phase) for phase in self.phases]
        if rest:
            solved = [
                solve_steady(self.netlist, batch, np.repeat(start, self.rows, axis=1))
                for batch, start in zip(batches, starts, strict=True)
            ]
            mean[:, rest], slopes[:, rest] = self._levels([observables[k] for k in rest], solved)
        for k in ohms:
            mean[:, k], slopes[:, k] = self._ohms(observables[k], batches[0])
        return mean, slopes

    def _levels(self, observables: Sequence[Observable], solved: Sequence[Solution]) -> tuple[Array, Array]:
        per_phase = [
            self._phase_levels(observables, phase, solution)
            for phase, solution in zip(self.phases, solved, strict=True)
        ]
        values = np.stack([v for v, _ in per_phase])
        slopes = np.stack([s for _, s in per_phase])
        shares = np.array([phase.share for phase in self.phases])
        mean = np.empty(values.shape[1:])
        slope = np.empty(slopes.shape[1:])
        for k, o in enumerate(observables):
            mean[:, k], slope[:, k] = _combine(o.quantity, values[:, :, k], slopes[:, :, k], shares)
        return mean, slope

    def _phase_levels(
        self, observables: Sequence[Observable], phase: PhaseState, solution: Solution
    ) -> tuple[Array, Array]:
        net = self.netlist
        pairs = [self._pair(o) for o in observables]
        distinct = list(dict.fromkeys(pairs))
        place = [distinct.index(pair) for pair in pairs]
        found = adjoint(net, solution, distinct)
        changes = self._changes(phase, solution.parameters)
        by_latent = self._all_slopes(net, solution, found, changes)
        values = np.empty((self.rows, len(observables)))
        slopes = np.empty((self.rows, len(observables), self.width))
        for k, o in enumerate(observables):
            a, b = pairs[k]
            drop = solution.effort[a] - solution.effort[b]
            if o.quantity == "current":
                values[:, k], slopes[:, k] = self._current(o, solution, by_latent[place[k]], changes)
            else:
                share = 1.0 / (1.0 + found.resistance[place[k]] / o.load)
                values[:, k] = drop * share
                slopes[:, k] = (by_latent[place[k]] * share).T
        return values, slopes

    def _pair(self, o: Observable) -> tuple[int, int]:
        if o.quantity == "current":
            branch = self.netlist.parts[self.netlist.part[o.part]]
            return self.netlist.node[branch.nodes[0]], self.netlist.node[branch.nodes[1]]
        return self.netlist.node[o.red], self.netlist.node[o.black]

    def _changes(self, phase: PhaseState, parameters: Array) -> list[dict[int, Array]]:
        """Return how branch parameters move with each tolerance, then with each insulation where it is sound."""
        changes = _latent_rows(self.netlist, phase, self.latents, parameters)
        return changes + [
            {row: np.where(parameters[row] == parameters[row, 0], parameters[row], 0.0)} for row in self.insulation
        ]

    def _all_slopes(
        self, net: Netlist, solution: Solution, found: Adjoint, changes: Sequence[Mapping[int, Array]]
    ) -> Array:
        """Return slopes (pair, latent, row) by every tolerance and insulation, and last by the leakage of all nodes."""
        by_change = sensitivities(net, solution, found, changes)
        by_leakage = -np.einsum("npr,nr->pr", found.field[:-1], solution.effort[:-1]) / net.leakage
        return np.concatenate([by_change, by_leakage[:, None]], axis=1)

    def _current(
        self, o: Observable, solution: Solution, drop_slopes: Array, changes: Sequence[Mapping[int, Array]]
    ) -> tuple[Array, Array]:
        part = self.netlist.part[o.part]
        flow = flow_through(self.netlist, solution, part)
        row = self.netlist.part_rows[part][0][0]
        a, b = self._pair(o)
        drop = solution.effort[a] - solution.effort[b]
        slopes = solution.parameters[row] * drop_slopes
        for z, change in enumerate(changes):
            if row in change:
                slopes[z] += drop * change[row]
        return flow, slopes.T

    def _ohms(self, o: Observable, batch: Batch) -> tuple[Array, Array]:
        rows = self._rows_that_matter(o)
        net = _with_meter(self.netlist, o)
        g = 1.0 / self.source.resistance
        meter = np.repeat([[g], [g * self.source.voltage]], len(rows), axis=1)
        part = batch.take(rows)
        wired = Batch(np.vstack([part.on, meter]), np.vstack([part.off, meter]), part.enabled, part.threshold)
        solution = solve_steady(net, wired)
        pair = (net.node[o.red], net.node[o.black])
        found = adjoint(net, solution, [pair])
        changes = self._changes(self.phases[0], solution.parameters)
        drop = solution.effort[pair[0]] - solution.effort[pair[1]]
        left = self.source.voltage - drop
        with np.errstate(divide="ignore", invalid="ignore"):
            shown = self.source.resistance * drop / left
            per_volt = self.source.resistance * self.source.voltage / left**2
        beyond = (left <= 0) | ~(shown < FAR)
        value = np.where(beyond, FAR, shown)
        slopes = np.where(beyond, 0.0, per_volt * self._all_slopes(net, solution, found, changes)[0]).T
        mean, slope = np.full(self.rows, value[0]), np.tile(slopes[0], (self.rows, 1))
        mean[rows], slope[rows] = value, slopes
        return mean, slope

    def _rows_that_matter(self, o: Observable) -> Index:
        """Return the sound row and those of faults that lie between the two points or bridge conductors."""
        between = parts_between(self.assembly, self.phases[0].states, o.red, o.black)
        bridges = self.assembly.circuit.bridges
        chosen = [v for v in self.variants if any(f.part in between or f.part in bridges for f in v.faults)]
        return np.concatenate([np.array([0]), *(np.arange(v.first, v.first + v.count) for v in chosen)])


def _with_meter(netlist: Netlist, o: Observable) -> Netlist:
    meter = Placed("meter", ELEMENTS["meter_load"], (o.red, o.black))
    return Netlist((*netlist.parts, meter), netlist.ground, netlist.leakage)


def _fill(netlist: Netlist, phase: PhaseState, variants: Sequence[Variant], rows: int) -> Batch:
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
    values = grid * state.values[name] if mode.relative else grid
    return replace(state, values={**state.values, name: values})


def _sound_start(netlist: Netlist, phase: PhaseState) -> Array:
    return solve_steady(netlist, netlist.batch(phase.states, 1)).effort


def _latent_rows(
    netlist: Netlist, phase: PhaseState, latents: Sequence[tuple[str, str, float, bool]], parameters: Array
) -> list[dict[int, Array]]:
    """Return for each latent how branch parameters move with it, scaled to the values in force in each variant."""
    changes = []
    for name, parameter, spread, relative in latents:
        part = netlist.part[name]
        value = float(np.asarray(phase.states[part].values[parameter]))
        per_relative = row_slopes(netlist, phase.states, part, parameter) if value else {}
        share = spread if relative else spread / value if value else 0.0
        changes.append({row: slope * share * _scale(parameters[row]) for row, slope in per_relative.items()})
    return changes


def _scale(row: Array) -> Array:
    """Return each variant's parameter over that of the sound network, in row 0."""
    return row / row[0] if row[0] else np.zeros_like(row)


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
