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
    forward,
    solve_steady,
)
from proveout.network.domains import DOMAINS, ELECTRICAL
from proveout.network.elements import Branch
from proveout.network.laws import LAWS, Array, Law

__all__ = ["CHUNK_CELLS", "FAR", "OhmsSource", "Seen", "SolvedSetup", "sound_start"]

Index = npt.NDArray[np.intp]
Pair = tuple[int, int]
Shown = tuple[Array, list[tuple[int, Array]], dict[int, Array]]
"""Value (row,), its weights (row,) by pairs of nodes, and its slopes (row,) by parameter rows."""
FAR = 1.0e12
NO_FLOW = 1.0e-15  # usual flows: a change of flow below it moves nothing that can be seen
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
    """Values (row, observable), slopes by the tolerances (row, observable, latent), variance of what scatters."""

    value: Array
    slope: Array
    scatter: Array

    @classmethod
    def empty(cls, rows: int, observables: int, latents: int) -> Seen:
        """Return room for some observables."""
        return cls(np.empty((rows, observables)), np.empty((rows, observables, latents)), np.empty((rows, observables)))

    def put(self, columns: Sequence[int], part: Seen) -> None:
        """Write the columns of some observables."""
        self.value[:, columns], self.slope[:, columns], self.scatter[:, columns] = part.value, part.slope, part.scatter


@dataclass(frozen=True)
class _Owner:
    """The branch that a parameter row belongs to: its law, its ends, all its rows, the least flow that matters."""

    law: type[Law]
    ends: Pair
    rows: list[int]
    least: float


@dataclass(frozen=True)
class _Linearised:
    """A solved phase for some rows, with the adjoint of some pairs of nodes."""

    owners: Mapping[int, _Owner]
    solution: Solution
    found: Adjoint
    place: Mapping[Pair, int]
    moved: Array | None = None
    """d effort / d latent (node, latent, row), where the adjoint does not tell: in time, or through driven parts."""

    def drop(self, pair: Pair) -> Array:
        return self.solution.effort[pair[0]] - self.solution.effort[pair[1]]

    def across(self, law: type[Law], ends: Pair) -> Array:
        """Return what a law sees of two nodes: their difference, or both efforts where it is directed."""
        first, second = self.solution.effort[ends[0]], self.solution.effort[ends[1]]
        return np.stack([first, second]) if law.directed else first - second

    def flow_change(self, row: int, change: Array) -> tuple[Pair, Array]:
        """Return the branch whose parameter row it is, and how its flow at this drop moves with the change, (row,)."""
        owner = self.owners[row]
        by_parameter = owner.law.by_parameter(self.across(owner.law, owner.ends), self.solution.parameters[owner.rows])
        return owner.ends, by_parameter[owner.rows.index(row)] * change


@dataclass(frozen=True)
class _Readout:
    """What some observables show in one phase, and how that hangs on the effort differences of pairs of nodes.

    The slope of observable `of[t]` is the sum over its terms t of `weight[t]` times the slope of pair `pair[t]`, and of
    `direct` times the change of a parameter row for currents.
    """

    value: Array
    of: Index
    pair: Index
    weight: Array
    direct: Mapping[int, Mapping[int, Array]]


class SolvedSetup:
    """One set-up of a circuit with all its variants."""

    def __init__(
        self, assembly: Assembly, setup: str, variants: Sequence[Variant], rows: int, source: OhmsSource
    ) -> None:
        self.assembly, self.setup, self.variants, self.rows, self.source = assembly, setup, variants, rows, source
        self.netlist = assembly.netlist
        self.owners = _owners(assembly.netlist)
        self.phases = phases_of(assembly, setup)
        self.batches = [fill(self.netlist, phase, variants, rows) for phase in self.phases]
        self.latents = [
            Latents(assembly, phase, variants, batch) for phase, batch in zip(self.phases, self.batches, strict=True)
        ]

    def levels(self, observables: Sequence[Observable]) -> Iterator[tuple[slice, Seen]]:
        """Yield what voltages and currents are, for some rows at a time."""
        starts = [sound_start(self.netlist, phase) for phase in self.phases]
        pairs = list(dict.fromkeys(pair for o in observables for pair in self._pairs(o)))
        step = max(64, CHUNK_CELLS // (len(self.netlist.nodes) * max(len(pairs), 1)))
        for begin in range(0, self.rows, step):
            rows = slice(begin, min(begin + step, self.rows))
            states = [self._solved(k, start, rows, pairs) for k, start in enumerate(starts)]
            yield rows, self._seen(states, [self._readout(observables, at) for at in states], observables, rows)

    def _solved(self, phase: int, start: Array, rows: slice, pairs: Sequence[Pair]) -> _Linearised:
        batch = self.batches[phase].take(rows)
        starts = np.repeat(start, rows.stop - rows.start, axis=1)
        solution = solve_steady(self.netlist, batch, starts)
        moved = None
        if batch.driven:
            moved = forward(self.netlist, batch, solution, self._changes(self.latents[phase], solution, rows))
        return self._linearised(self.netlist, solution, pairs, moved)

    def _changes(self, latents: Latents, solution: Solution, rows: slice | Index) -> list[Mapping[int, Array]]:
        """Return how the parameter rows move with each latent at a solution of some rows."""
        driven = {
            part: solution.effort[first] - solution.effort[second]
            for part, (first, second) in self.netlist.drives.items()
        }
        return latents.changes(solution.parameters, solution.on, rows, driven)

    def _linearised(
        self, netlist: Netlist, solution: Solution, pairs: Sequence[Pair], moved: Array | None = None
    ) -> _Linearised:
        place = {pair: k for k, pair in enumerate(pairs)}
        return _Linearised(self.owners, solution, adjoint(netlist, solution, pairs), place, moved)

    def _seen(
        self,
        states: Sequence[_Linearised],
        readouts: Sequence[_Readout],
        observables: Sequence[Observable],
        rows: slice | Index,
        latents: Sequence[Latents] | None = None,
    ) -> Seen:
        """Return what is seen over all phases: every observable is a weighted sum of what it is in each."""
        shares = np.array([phase.share for phase in self.phases]) if latents is None else np.ones(1)
        values = np.stack([readout.value for readout in readouts])
        value, weights = _combined([o.quantity for o in observables], values, shares)
        lines = [self._changes(own, at.solution, rows) for own, at in zip(latents or self.latents, states, strict=True)]
        known = len(self.latents[0].known)
        slope, scatter = np.empty((known, *value.shape)), np.zeros(value.shape)
        for z, changes in enumerate(zip(*lines, strict=True)):
            moved = sum(
                _slope(at, readout, weight, change, z)
                for at, readout, weight, change in zip(states, readouts, weights, changes, strict=True)
            )
            if z < known:
                slope[z] = moved
            else:
                scatter += moved**2
        for at, readout, weight in zip(states, readouts, weights, strict=True):
            scatter += _weighted(readout, weight, self._by_leakage(at)) ** 2
        return Seen(value.T, slope.transpose(2, 1, 0), scatter.T)

    def _by_leakage(self, at: _Linearised) -> Array:
        """Return how the pairs' effort differences move with the leakage of all nodes, (pair, row)."""
        return -np.einsum("npr,nr,n->pr", at.found.field[:-1], at.solution.effort[:-1], self.netlist.leaks)

    def _pairs(self, o: Observable) -> list[Pair]:
        """Return the pairs of nodes whose effort differences an observable needs."""
        if o.quantity == "current":
            return [pair for ends, _, branch in self._branches(o.part) for pair in self._seen_by(o.part, ends, branch)]
        return [(self.netlist.node[o.red], self.netlist.node[o.black])]

    def _seen_by(self, part: str, ends: Pair, branch: int) -> list[Pair]:
        """Return the pairs of nodes whose differences the flow of a part's branch hangs on."""
        element = self.netlist.parts[self.netlist.part[part]].element
        ground = self.netlist.size
        directed = LAWS[element.branches[branch].law].directed
        return [(ends[0], ground), (ends[1], ground)] if directed else [ends]

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

    def _readout(self, observables: Sequence[Observable], at: _Linearised) -> _Readout:
        values, terms, direct = [], [], {}
        for k, o in enumerate(observables):
            value, own, by_row = self._current(o, at) if o.quantity == "current" else self._effort(o, at)
            values.append(value)
            terms += [(k, pair, weight) for pair, weight in own]
            direct[k] = by_row
        of, pair, weight = zip(*terms, strict=True)
        return _Readout(np.stack(values), np.array(of), np.array(pair), np.stack(weight), _by_parameter_row(direct))

    def _effort(self, o: Observable, at: _Linearised) -> Shown:
        """Return an effort difference under the instrument's load."""
        (pair,) = self._pairs(o)
        k = at.place[pair]
        share = 1.0 / (1.0 + at.found.resistance[k] / o.load)
        return at.drop(pair) * share, [(k, share)], {}

    def _current(self, o: Observable, at: _Linearised) -> Shown:
        """Return the flow into a part's first terminal with the instrument in series.

        d flow = (d flow / d drop) d drop + (d flow / d parameter) d parameter, over the branches at that terminal.
        """
        part = self.netlist.part[o.part]
        element = self.netlist.parts[part].element
        flow = np.zeros(at.solution.effort.shape[1])
        conductance, resistance = np.zeros(len(flow)), np.zeros(len(flow))
        terms: list[tuple[int, Array]] = []
        direct: dict[int, Array] = {}
        for pair, sign, branch in self._branches(o.part):
            law, rows = LAWS[element.branches[branch].law], self.netlist.part_rows[part][branch]
            drop, parameters = at.across(law, pair), at.solution.parameters[rows]
            own, slope = law.tangent(drop, parameters)
            flow += sign * own
            weights = (slope[0], -slope[1]) if law.directed else (slope,)
            seen_by = self._seen_by(o.part, pair, branch)
            terms += [(at.place[seen], sign * weight) for seen, weight in zip(seen_by, weights, strict=True)]
            direct.update(zip(rows, sign * law.by_parameter(drop, parameters), strict=True))
            conductance, resistance = conductance + weights[0], at.found.resistance[at.place[seen_by[0]]]
        # In series with a part of two terminals the shunt sees 1 / (g (1 - g R)), R the inner resistance across it.
        seen = conductance * (1.0 - conductance * resistance) if len(element.terminals) == 2 else 0.0 * conductance
        share = _burden_share(o.burden, flow, np.maximum(seen, 0.0))
        return flow * share, [(k, w * share) for k, w in terms], {row: d * share for row, d in direct.items()}

    def ohms(self, observables: Sequence[Observable]) -> Iterator[tuple[Index, Seen]]:
        """Yield which rows an ohms test may tell from the sound one, first of all row 0, and what it shows in them.

        All tests share one network, in which only the meter of the test conducts.
        """
        pairs = list(dict.fromkeys((o.red, o.black) for o in observables))
        net, batch = _with_meters(self.netlist, pairs, self.batches[0])
        g = 1.0 / self.source.resistance
        for o in observables:
            rows = self._rows_that_matter(o)
            wired = batch.take(slice(None) if len(rows) == self.rows else rows)
            driven = net.part_rows[len(self.netlist.parts) + pairs.index((o.red, o.black))][0]
            for row, value in zip(driven, (g, g * self.source.voltage), strict=True):
                wired.on[row] = wired.off[row] = value
            yield rows, self._ohms(o, net, solve_steady(net, wired), rows)
            wired.on[driven] = wired.off[driven] = 0.0

    def _ohms(self, o: Observable, net: Netlist, solution: Solution, rows: Index) -> Seen:
        pair = (net.node[o.red], net.node[o.black])
        at = self._linearised(net, solution, [pair])
        left = self.source.voltage - at.drop(pair)
        with np.errstate(divide="ignore", invalid="ignore"):
            shown = self.source.resistance * at.drop(pair) / left
            per_volt = self.source.resistance * self.source.voltage / left**2
        beyond = (left <= 0) | ~(shown < FAR)
        value, weight = np.where(beyond, FAR, shown), np.where(beyond, 0.0, per_volt)
        only = np.zeros(1, dtype=np.intp)
        return self._seen([at], [_Readout(value[None], only, only, weight[None], {})], [o], rows)

    def _rows_that_matter(self, o: Observable) -> Index:
        """Return the sound row and those of faults that lie between the two points, or bring a bridge there."""
        bridges = self.assembly.circuit.bridges
        states = self.phases[0].states
        between = parts_between(self.assembly, states, o.red, o.black)
        bridged = parts_between(self.assembly, states, o.red, o.black, bridges=True) & bridges.keys()
        chosen = [v for v in self.variants if any(f.part in between or f.part in bridged for f in v.faults)]
        return np.concatenate([np.array([0]), *(np.arange(v.first, v.first + v.count) for v in chosen)])


def _owners(netlist: Netlist) -> dict[int, _Owner]:
    return {
        row: _Owner(LAWS[branch.law], netlist.branch_nodes(part, k), rows, NO_FLOW * _usual_flow(netlist, part, branch))
        for part, blocks in enumerate(netlist.part_rows)
        for k, (branch, rows) in enumerate(zip(netlist.parts[part].element.branches, blocks, strict=True))
        for row in rows
    }


def _usual_flow(netlist: Netlist, part: int, branch: Branch) -> float:
    return DOMAINS[netlist.parts[part].element.domain_of(branch.ends[0])].flow_scale


def _by_parameter_row(direct: Mapping[int, Mapping[int, Array]]) -> dict[int, dict[int, Array]]:
    """Turn observable to parameter row to slope into parameter row to observable to slope."""
    turned: dict[int, dict[int, Array]] = {}
    for observable, by_row in direct.items():
        for row, slope in by_row.items():
            turned.setdefault(row, {})[observable] = slope
    return turned


def _slope(at: _Linearised, readout: _Readout, weight: Array, change: Mapping[int, Array], latent: int) -> Array:
    """Return how the observables move with a change of parameter rows in one phase, (observable, row)."""
    total = np.zeros_like(readout.value)
    if at.moved is not None:
        by_pair = np.stack([at.moved[a, latent] - at.moved[b, latent] for a, b in at.place])
        total += _weighted(readout, weight, by_pair)
    for row, by in change.items():
        (first, second), flow = at.flow_change(row, by)
        if at.moved is None and np.abs(flow).max(initial=0.0) > at.owners[row].least:
            total += _weighted(readout, weight, -(at.found.field[first] - at.found.field[second]) * flow)
        for observable, slope in readout.direct.get(row, {}).items():
            total[observable] += weight[observable] * slope * by
    return total


def _weighted(readout: _Readout, weight: Array, by_pair: Array) -> Array:
    """Return the observables' slopes from those of the pairs, (observable, row), in a phase of the given weights."""
    terms = readout.weight * by_pair[readout.pair]
    if len(readout.of) > len(readout.value):
        terms = np.add.reduceat(terms, np.flatnonzero(np.diff(readout.of, prepend=-1)), axis=0)
    return weight * terms


def _with_meters(netlist: Netlist, pairs: Sequence[tuple[str, str]], batch: Batch) -> tuple[Netlist, Batch]:
    """Return the network with a meter at each pair of nodes, and its batch in which none of them conducts."""
    meters = [Placed(f"meter {k}", ELEMENTS["meter_load"], pair) for k, pair in enumerate(pairs)]
    wider = Netlist((*netlist.parts, *meters), netlist.ground, netlist.leakages[ELECTRICAL], netlist.leakages)
    idle = np.zeros((wider.rows - netlist.rows, batch.on.shape[1]))
    on = np.vstack([batch.on, idle])
    off = on if batch.off is batch.on else np.vstack([batch.off, idle])
    return wider, Batch(on, off, batch.enabled, batch.threshold, batch.driven)


def sound_start(netlist: Netlist, phase: PhaseState) -> Array:
    """Return the efforts (node, 1) of the sound vehicle."""
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


def _combined(quantities: Sequence[str], values: Array, shares: Array) -> tuple[Array, Array]:
    """Combine phases: values (phase, observable, row), shares (phase,).

    Returns
    -------
    value : (observable, row) float
    weight : (phase, observable, row) float
        How the result moves with the value in each phase.
    """
    value, weight = np.empty(values.shape[1:]), np.zeros(values.shape)
    every = np.arange(values.shape[2])
    for k, quantity in enumerate(quantities):
        own, by = values[:, k], weight[:, k]
        mean = shares @ own
        if quantity in ("low", "swing"):
            by[own.argmin(axis=0), every] += 1.0 if quantity == "low" else -1.0
        if quantity in ("high", "swing"):
            by[own.argmax(axis=0), every] += 1.0
        if quantity == "rms":
            value[k] = np.sqrt(shares @ (own - mean) ** 2)
            by += shares[:, None] * (own - mean) / np.maximum(value[k], 1e-12)
        elif quantity in ("low", "high", "swing"):
            value[k] = np.sum(by * own, axis=0)
        else:
            value[k] = mean
            by += shares[:, None]
    return value, weight
