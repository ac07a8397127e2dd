"""A batch of networks taken through stages in time, with how everything moves with the latents along the way.

The network settles in its first state; each leg then changes parameters and lasts a while. What is stored (gas in a
vessel, heat in a mass, fluid over a gas charge) goes on from leg to leg, even if a vessel's volume changes in between.
Steps are those of `transient` (TR-BDF2, in its form ``y = a + d dt f``), growing along a leg; every leg begins with a
backward Euler stage, for it begins with a jump. Capacitors and coils are long settled on this scale and stay at rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from proveout.errors import InputError
from proveout.network.forward import forward
from proveout.network.laws import LAWS, Array
from proveout.network.netlist import Batch, Netlist
from proveout.network.steady import Solution, solve_steady
from proveout.network.transient import GAMMA, WEIGHT

__all__ = ["Leg", "Moment", "run_timeline"]

Changes = Callable[[Solution], Sequence[Mapping[int, Array]]]
QUICK = 10.0  # seconds: a leg no longer than this is taken in few steps
QUICK_STEPS, QUICK_GROWTH = 4, 2.5
STEPS, GROWTH = 14, 1.5
TOLERANCE = 1e-4  # of a usual effort, before the last step of each solve


@dataclass(frozen=True)
class Leg:
    """One leg: the batch as its parameters are in it, how long it lasts [s], and how they move with the latents.

    The batch is written to: the rows of stores are the stepper's. The first leg's `seconds` do not count: it settles.
    """

    batch: Batch
    seconds: float
    changes: Changes


@dataclass(frozen=True)
class Moment:
    """The end of a leg: the solution, and d effort / d latent (node, latent, batch)."""

    solution: Solution
    moved: Array
    changes: Sequence[Mapping[int, Array]]


@dataclass(frozen=True)
class _Held:
    """One storing branch: its end nodes, its law, its parameter rows (k and a first)."""

    first: int
    second: int
    law: Any
    rows: list[int]

    def amount(self, parameters: Array, effort: Array) -> tuple[Array, Array]:
        """Return what is stored and its slope by the effort difference, (batch,) each."""
        found: tuple[Array, Array] = self.law.amount(effort[self.first] - effort[self.second], parameters[self.rows])
        return found

    def moved(self, solution: Solution, slope: Array, moved: Array, changes: Sequence[Mapping[int, Array]]) -> Array:
        """Return d amount / d latent, (latent, batch)."""
        found: Array = slope * (moved[self.first] - moved[self.second])
        own = [(z, row) for z, change in enumerate(changes) for row in self.rows[2:] if row in change]
        if own:
            u = solution.effort[self.first] - solution.effort[self.second]
            by_parameter = self.law.of_amount(u, solution.parameters[self.rows])
            for z, row in own:
                found[z] += by_parameter[self.rows.index(row) - 2] * changes[z][row]
        return found


@dataclass(frozen=True)
class _State:
    """What all stores hold, (store, batch), and how it moves, (store, latent, batch)."""

    amount: Array
    moved: Array

    def plus(self, factor: float, other: _State) -> _State:
        return _State(self.amount + factor * other.amount, self.moved + factor * other.moved)

    def times(self, factor: float) -> _State:
        return _State(factor * self.amount, factor * self.moved)


def run_timeline(netlist: Netlist, start: Leg, legs: Sequence[Leg], guess: Array | None = None) -> Iterator[Moment]:
    """Yield the moment at which the network has settled in `start`, then the end of each leg.

    Parameters
    ----------
    guess : (node, batch) or (node, 1) float, optional
        Efforts to start from; zeros otherwise.

    Raises
    ------
    InputError
        If a leg does not last.
    NetworkError, SingularError, DivergedError
        As for `solve_steady`.
    """
    stores = _stores(netlist)
    _hold(start.batch, stores, 0.0, None)
    solution = solve_steady(netlist, start.batch, guess, TOLERANCE)
    changes = start.changes(solution)
    moved = forward(netlist, start.batch, solution, changes)
    moment = Moment(_kept(solution), moved, changes)
    yield moment
    for leg in legs:
        if not leg.seconds > 0.0:
            raise InputError(f"a leg of {leg.seconds} s has no steps; it must last longer than nothing")
        # What a store holds is its own; its parameters may be others in the next leg.
        state = _state(stores, moment.solution, moment.moved, moment.changes)
        moment = _end(netlist, stores, leg, state, moment.solution.effort)
        yield moment


def _end(netlist: Netlist, stores: Sequence[_Held], leg: Leg, state: _State, effort: Array) -> Moment:
    """Return the end of a leg that begins with the stores in `state`."""
    slope: _State | None = None
    moment = Moment(Solution(effort, leg.batch.enabled, leg.batch.on), np.empty(0), ())
    for dt in _spans(leg.seconds):
        if slope is None:
            middle, between, _ = _stage(netlist, stores, leg, state, GAMMA * dt, effort)
        else:
            middle, between, _ = _stage(netlist, stores, leg, state.plus(WEIGHT * dt, slope), WEIGHT * dt, effort)
        ahead = between.plus(-((1.0 - GAMMA) ** 2), state).times(1.0 / (GAMMA * (2.0 - GAMMA)))
        moment, state, slope = _stage(netlist, stores, leg, ahead, WEIGHT * dt, middle.solution.effort)
        effort = moment.solution.effort
    return Moment(_kept(moment.solution), moment.moved, moment.changes)


def _spans(seconds: float) -> Array:
    """Return the steps of a leg, each longer than the one before."""
    count, growth = (QUICK_STEPS, QUICK_GROWTH) if seconds <= QUICK else (STEPS, GROWTH)
    spans = growth ** np.arange(count)
    return np.asarray(seconds * spans / spans.sum())


def _stage(
    netlist: Netlist, stores: Sequence[_Held], leg: Leg, before: _State, span: float, guess: Array
) -> tuple[Moment, _State, _State]:
    """Return where the stores' contents are `before` + `span` x their slopes; their contents; their slopes."""
    _hold(leg.batch, stores, 1.0 / span, before.amount)
    solution = solve_steady(netlist, leg.batch, guess, TOLERANCE)
    changes = leg.changes(solution)
    held = [(s.first, s.second, -before.moved[k] / span) for k, s in enumerate(stores)]
    moved = forward(netlist, leg.batch, solution, changes, held)
    moment = Moment(solution, moved, changes)
    now = _state(stores, solution, moved, changes)
    return moment, now, now.plus(-1.0, before).times(1.0 / span)


def _state(stores: Sequence[_Held], solution: Solution, moved: Array, changes: Sequence[Mapping[int, Array]]) -> _State:
    count, latents = solution.effort.shape[1], len(changes)
    state = _State(np.empty((len(stores), count)), np.empty((len(stores), latents, count)))
    for k, store in enumerate(stores):
        state.amount[k], slope = store.amount(solution.parameters, solution.effort)
        state.moved[k] = store.moved(solution, slope, moved, changes)
    return state


def _hold(batch: Batch, stores: Sequence[_Held], rate: float, held: Array | None) -> None:
    """Write into a batch what the stores held and at which rate they give and take."""
    for rows in (batch.on,) if batch.off is batch.on else (batch.on, batch.off):
        for k, store in enumerate(stores):
            rows[store.rows[0]] = rate
            rows[store.rows[1]] = 0.0 if held is None else held[k]


def _kept(solution: Solution) -> Solution:
    """Return a solution whose parameters no later step changes."""
    return Solution(solution.effort, solution.on, solution.parameters.copy())


def _stores(netlist: Netlist) -> list[_Held]:
    found = []
    for part, placed in enumerate(netlist.parts):
        for branch, declared in enumerate(placed.element.branches):
            law = LAWS[declared.law]
            if hasattr(law, "amount"):
                first, second = netlist.branch_nodes(part, branch)
                found.append(_Held(first, second, law, netlist.part_rows[part][branch]))
    return found
