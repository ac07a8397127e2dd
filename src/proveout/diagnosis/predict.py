"""What every observable would be under every fault and severity, with its slopes by tolerances and severity.

All variants of a set-up (sound, then each fault at each severity) are one batch of the network solver; slopes come from
the adjoint of the same elimination.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.circuits.assemble import Assembly, tolerances
from proveout.diagnosis.observables import Observable
from proveout.diagnosis.solved_setup import FAR, OhmsSource, Seen, SolvedSetup
from proveout.diagnosis.timed_setup import TimedSetup
from proveout.diagnosis.variants import Variant, single_fault_variants
from proveout.network.domains import DOMAINS
from proveout.network.laws import Array

__all__ = ["OhmsSource", "Predictions", "Variant", "predict", "single_fault_variants"]

Index = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]
Progress = Callable[[float], None]
LEAST_JUMP = 0.02  # usual efforts (or flows) between two severities below which nothing is called a jump
JUMP = 5.0  # how many times the step on its other side a step must be
JUMP_SHARE = 0.2  # of the whole range of the reading that a jump covers


@dataclass(frozen=True)
class Predictions:
    """Predictions for G rows (row 0 sound, then faults x severities), X observables and K latents.

    Attributes
    ----------
    mean : (G, X) float
        In SI units; 1e12 where a resistance is beyond any meter.
    slopes : (G, X, K) float
        By standard normal latents: one for each tolerance of the circuit, then the leads of the ohms tests, then the
        place within the severity cell of each fault of a row (a uniform place has variance 1/12, put in here).
    rough : (G, X) float
        Variance of what no latent carries: the bend between severities, the scatter of joints and wires, and leakage
        and insulation, which are known to an order of magnitude at best, so that a ghost voltage tells little.
    """

    observables: tuple[Observable, ...]
    variants: tuple[Variant, ...]
    mean: Array
    slopes: Array
    rough: Array


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
    leads = len(tolerances(assembly))
    result = _blank(tuple(observables), tuple(variants), rows, leads)
    setups = list(dict.fromkeys(o.setup for o in observables))
    for done, setup in enumerate(setups):
        kind = TimedSetup if assembly.circuit.setups[setup].sequence else SolvedSetup
        solved = kind(assembly, setup, variants, rows, source)
        _write_setup(result, solved, [k for k, o in enumerate(observables) if o.setup == setup])
        if progress is not None:
            progress((done + 1) / len(setups))
    ohms = [k for k, o in enumerate(observables) if o.quantity == "ohms"]
    result.slopes[:, ohms, leads] = source.leads
    smooth = np.array([o.quantity == "ohms" for o in observables], dtype=bool)
    least = LEAST_JUMP * np.array([_usual(assembly, o) for o in observables])
    for variant in variants:
        places, bend = _between_grid_points(variant, result.mean[variant.rows], np.where(smooth, np.inf, least))
        result.slopes[variant.rows, :, leads + 1 : leads + 1 + len(places)] = np.moveaxis(places, 0, -1)
        result.rough[variant.rows] += bend
    return result


def _blank(observables: tuple[Observable, ...], variants: tuple[Variant, ...], rows: int, known: int) -> Predictions:
    shape, places = (rows, len(observables)), max((len(v.faults) for v in variants), default=1)
    return Predictions(observables, variants, np.zeros(shape), np.zeros((*shape, known + 1 + places)), np.zeros(shape))


def _write_setup(result: Predictions, solved: SolvedSetup, columns: Sequence[int]) -> None:
    observables = result.observables
    rest = [k for k in columns if observables[k].quantity != "ohms"]
    if rest:
        for rows, seen in solved.levels([observables[k] for k in rest]):
            _write(result, np.arange(rows.start, rows.stop), rest, seen)
    ohms = [k for k in columns if observables[k].quantity == "ohms"]
    if ohms:
        for k, (some, seen) in zip(ohms, solved.ohms([observables[k] for k in ohms]), strict=True):
            sound = Seen(seen.value[:1], seen.slope[:1], seen.scatter[:1])
            _write(result, np.arange(len(result.mean)), [k], sound)
            _write(result, some, [k], seen)


def _write(result: Predictions, rows: Index, columns: Sequence[int], seen: Seen) -> None:
    """Write values and slopes; what joints, insulation and leakage scatter is rough."""
    known = seen.slope.shape[2]
    down, across = rows[:, None], np.array(columns)[None, :]
    result.mean[down, across] = seen.value
    result.slopes[down, across, :known] = seen.slope
    result.rough[down, across] = seen.scatter


def _usual(assembly: Assembly, observable: Observable) -> float:
    """Return a usual size of what is observed: that of the effort's domain, or 1 for a count."""
    netlist = assembly.netlist
    if observable.quantity == "count":
        return 1.0
    if observable.quantity == "current":
        part = netlist.parts[netlist.part[observable.part]]
        return DOMAINS[part.element.domain_of(part.element.terminals[0])].flow_scale
    ends = {netlist.node[observable.red], netlist.node[observable.black]} - {netlist.size}
    return max((DOMAINS[netlist.domains[node]].scale for node in ends), default=1.0)


def _between_grid_points(variant: Variant, mean: Array, least: Array) -> tuple[Array, Array]:
    """Return the slopes by the places in the severity cells, in standard deviations, and the variance of the bends.

    Where a gate switches between two severities the readings jump, by `least` (observable,) or more. The slope beside a
    jump is that of the side away from it, and the place may then lie anywhere up to the neighbouring grid point.

    Returns
    -------
    slopes : (fault, row, observable) float
    bend : (row, observable) float
    """
    shape = tuple(len(np.unique(s)) for s in variant.severities)
    bounded = np.minimum(mean, FAR).reshape(*shape, -1)
    slopes, bend = np.zeros((len(shape), *bounded.shape)), np.zeros_like(bounded)
    for axis, count in enumerate(shape):
        if count > 1:
            slopes[axis], jumps = _slope_beside_jumps(bounded, axis, least)
            bend += np.where(jumps, 0.0, _bend(bounded, axis) / 8.0) ** 2
    return slopes.reshape(-1, *mean.shape), bend.reshape(mean.shape)


def _slope_beside_jumps(grid: Array, axis: int, least: Array) -> tuple[Array, Flags]:
    """Return the slope along an axis in standard deviations of the place, and where a reading jumps."""
    along = np.moveaxis(grid, axis, 0)
    step = np.diff(along, axis=0)
    before, after = (np.concatenate(parts) for parts in ((step[:1], step), (step, step[-1:])))
    near, far = np.minimum(np.abs(before), np.abs(after)), np.maximum(np.abs(before), np.abs(after))
    jumps = (far > least) & (far > JUMP * near) & (far > JUMP_SHARE * np.ptp(along, axis=0))
    slope = np.where(jumps, np.where(np.abs(before) < np.abs(after), before, after), 0.5 * (before + after))
    beside = jumps.any(axis=-1, keepdims=True)
    spread = np.where(beside, 1.0 / np.sqrt(3.0), 1.0 / np.sqrt(12.0))
    return np.moveaxis(slope * spread, 0, axis), np.moveaxis(jumps, 0, axis)


def _bend(grid: Array, axis: int) -> Array:
    """Return the second difference along an axis, zero at its ends."""
    bend = np.zeros_like(grid)
    along = np.moveaxis(grid, axis, 0)
    np.moveaxis(bend, axis, 0)[1:-1] = along[2:] - 2.0 * along[1:-1] + along[:-2]
    return bend
