"""What a batch of networks does after a switching instant: capacitors and coils stepped by TR-BDF2.

Each step has two stages of the same shape (Bank, Coughran, Fichtner, Grosse, Rose and Smith, IEEE Transactions on
Computer-Aided Design 4 (1985) 436): the trapezoidal rule over gamma dt, then the second backward difference to dt, with
gamma = 2 - sqrt(2), for which both have the coefficient d = gamma / 2. Of second order, and stiff decays vanish. The
very first stage is a backward Euler step, because the slopes just after the switching instant are not known.

A state y (voltage of a capacitor, current of a coil) with slope f then obeys ``y = a + d dt f`` with `a` known, which
makes each storage element a linear branch again:

    capacitor, leakage in parallel   flow = (g + k) u - (j + k a)            k = C / (d dt)
    coil, R and emf in series        flow = (k g u - (k j - g a)) / (g + k)  k = d dt / L

where g, j are the branch's conductance and source at rest. For an open coil (g = 0) the current is gone at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from proveout.errors import InputError, NetworkError
from proveout.network.laws import Array
from proveout.network.netlist import Batch, Netlist, PartState
from proveout.network.steady import solve_steady

__all__ = ["solve_transient"]

GAMMA = 2.0 - np.sqrt(2.0)
WEIGHT = 0.5 * GAMMA


@dataclass(frozen=True)
class _Store:
    """One storage branch: its end nodes, its rows of conductance and source, what it stores (batch,); 0 for none."""

    first: int
    second: int
    conductance: int
    source: int
    inductive: bool
    amount: Array

    def state(self, rest: Array, parameters: Array, effort: Array) -> Array:
        """Return the voltage of the capacitor or the current of the coil, (batch,)."""
        u = effort[self.first] - effort[self.second]
        if not self.inductive:
            return u
        at_rest = np.asarray(rest[self.conductance] * u - rest[self.source])
        return np.where(self.amount > 0, parameters[self.conductance] * u - parameters[self.source], at_rest)

    def companion(self, rest: Array, history: Array, span: float) -> tuple[Array, Array]:
        """Return conductance and source (batch,) that make the state equal `history` + `span` x its slope."""
        g, j = rest[self.conductance], rest[self.source]
        if not self.inductive:
            k = self.amount / span
            return g + k, j + k * history
        stores = self.amount > 0
        k = span / np.where(stores, self.amount, 1.0)
        return np.where(stores, k * g / (g + k), g), np.where(stores, (k * j - g * history) / (g + k), j)


def solve_transient(
    netlist: Netlist,
    before: Sequence[PartState],
    after: Sequence[PartState],
    count: int,
    dt: float,
    steps: int,
    tolerance: float = 1e-9,
) -> Array:
    """Solve a batch of networks over time, from the steady state `before` a change to the time steps after it.

    Parameters
    ----------
    netlist : Netlist
    before, after : sequence of PartState
        One state for each part, until the switching instant and from it on; values are numbers or (count,) arrays.
    count : int
        Number of variants.
    dt : float
        Time step [s].
    steps : int
        Number of steps.
    tolerance : float
        As for `solve_steady`.

    Returns
    -------
    effort : (step + 1, node, count) float
        Efforts at 0, dt, 2 dt ...; those at 0 are the steady ones before the switching.

    Raises
    ------
    InputError
        If `dt` or `steps` is not above 0.
    NetworkError, SingularError, DivergedError
        As for `solve_steady`; also if a capacitance or inductance is not a finite number of at least 0.
    """
    if not (np.isfinite(dt) and dt > 0 and steps > 0):
        raise InputError(f"a transient of {steps} steps of {dt} s cannot be computed; both must be above 0")
    stores = _stores(netlist, after, count)
    start = netlist.batch(before, count)
    solution = solve_steady(netlist, start, tolerance=tolerance)
    batch = netlist.batch(after, count)
    rest = batch.on.copy()
    state = [store.state(solution.parameters, solution.parameters, solution.effort) for store in stores]
    slope: list[Array] | None = None
    effort = np.empty((steps + 1, *solution.effort.shape))
    effort[0] = solution.effort

    def stage(history: list[Array], span: float, guess: Array) -> tuple[Array, list[Array], list[Array]]:
        for store, past in zip(stores, history, strict=True):
            _put(batch, store, *store.companion(rest, past, span))
        found = solve_steady(netlist, batch, guess, tolerance)
        now = [store.state(rest, found.parameters, found.effort) for store in stores]
        return found.effort, now, [(y - past) / span for y, past in zip(now, history, strict=True)]

    for step in range(steps):
        if slope is None:
            middle, between, _ = stage(state, GAMMA * dt, effort[step])
        else:
            half = [y + WEIGHT * dt * f for y, f in zip(state, slope, strict=True)]
            middle, between, _ = stage(half, WEIGHT * dt, effort[step])
        ahead = [(m - (1.0 - GAMMA) ** 2 * y) / (GAMMA * (2.0 - GAMMA)) for m, y in zip(between, state, strict=True)]
        effort[step + 1], state, slope = stage(ahead, WEIGHT * dt, middle)
    return effort


def _put(batch: Batch, store: _Store, conductance: Array, source: Array) -> None:
    for rows in (batch.on, batch.off):
        rows[store.conductance] = conductance
        rows[store.source] = source


def _stores(netlist: Netlist, states: Sequence[PartState], count: int) -> list[_Store]:
    stores = []
    for part, (placed, state) in enumerate(zip(netlist.parts, states, strict=True)):
        for branch, parameter in placed.element.storage.items():
            amount = np.broadcast_to(np.asarray(state.values[parameter], dtype=float), (count,))
            if not (np.isfinite(amount) & (amount >= 0)).all():
                raise NetworkError(
                    f"element '{placed.name}' ({placed.element.name}) has the {parameter} {amount.min()}; "
                    f"it must be a finite number of at least 0"
                )
            rows = netlist.part_rows[part][branch]
            first, second = netlist.branch_nodes(part, branch)
            stores.append(
                _Store(first, second, rows[0], rows[1], parameter == "inductance", amount * float(state.present))
            )
    return stores
