"""The results of a step as a chart on paper tells them apart: few, of readings without slips, with round edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.special import xlogy

from proveout.diagnosis.belief import SLIP, Belief
from proveout.diagnosis.evidence import BandSeen, Evidence, OutcomeSeen
from proveout.diagnosis.model import Model
from proveout.diagnosis.outcomes import step_outcomes
from proveout.diagnosis.steps import SEEN_AS, TRIAL_OUTCOMES, Step
from proveout.instruments import Function, describe
from proveout.network.laws import Array

__all__ = [
    "FineResults",
    "PaperResult",
    "band_text",
    "fine_results",
    "group_results",
    "may_join",
    "paper_results",
    "with_over_limit",
    "without_slips",
]

MOST_GROUPS = 5
ALIKE = 0.004  # nats per case that telling two results apart may be worth and still be given up before looking further
OUTSIDE = 2e-4  # share of all cases below which a result of a step is left out: a reading outside all bands
FINEST = 3  # digits of an edge
NEAR_ZERO = 0.1
CURED = "cured"  # the outcome of a trial after which the vehicle behaves
LIMIT_WORTH = 50.0  # how much more the manual's limit may cost as an edge than another round number: all know it
_JUST = 1e-9

Group = tuple[int, ...]


@dataclass(frozen=True)
class FineResults:
    """All results of a step: `chances` (H, O), for a reading the ascending `edges` (O - 2,) with over-limit last."""

    step: Step
    names: tuple[str, ...]
    chances: Array
    edges: Array | None

    @property
    def over(self) -> int:
        """Number of the over-limit result, -1 where there is none."""
        return -1 if self.edges is None else len(self.edges) + 1


@dataclass(frozen=True)
class PaperResult:
    """One result on paper: its label and evidence, P(result | hypothesis) (H,), and the group whose way it takes."""

    label: str
    evidence: Evidence
    chances: Array
    group: int


def fine_results(belief: Belief, step: Step) -> FineResults:
    """Return all results that a step may have, readings in fine bins with the manual's limits among the edges."""
    found = step_outcomes(belief, step)
    if found.edges is None:
        return FineResults(step, found.names, without_slips(belief.model, step, found.chances), None)
    edges = np.unique(np.concatenate([found.edges, _limits(belief.model, step)]))
    names = tuple(f"band {k}" for k in range(len(edges) + 1))
    return FineResults(step, (*names, "OL"), _bands(belief, step, edges), edges)


def without_slips(model: Model, step: Step, chances: Array) -> Array:
    """Return P(result | hypothesis), (H, O), as it would be if nothing read or noted were a slip.

    A slip is spread evenly over the results that the step has; columns that are zero throughout are none of them.
    """
    if step.kind in ("look", "try"):
        return chances
    slip = SLIP if step.kind == "measure" else model.circuit.behaviours[step.name].slip
    used = chances.max(axis=0) > 0.0
    clean = np.maximum((chances - used * slip / used.sum()) / max(1.0 - slip, 1e-12), 0.0)
    return np.asarray(clean / np.maximum(clean.sum(axis=1, keepdims=True), 1e-12))


def group_results(fine: FineResults, mass: Array, possible: Array) -> list[Group]:
    """Return groups of results worth telling apart; what almost no case of the whole chart would show is in none.

    Two results join while telling them apart tells less than `ALIKE` about the suspects, or while there are more than
    `MOST_GROUPS`; bands of a reading join their neighbours only.

    Parameters
    ----------
    mass : (O, S) float
        Probability of each result with each suspect, at this place in the chart.
    possible : (O,) float
        Probability of each result if the step were the chart's first.
    """
    groups: list[Group] = [(o,) for o in _listed(fine, possible)]
    total = mass.sum()
    while len(groups) > 1:
        pairs = [(a, b) for a, b in combinations(groups, 2) if may_join(fine, a, b)]
        if not pairs:
            break
        told = [_information(mass[list(a)].sum(axis=0), mass[list(b)].sum(axis=0)) / total for a, b in pairs]
        least = int(np.argmin(told))
        if told[least] > ALIKE and len(groups) <= MOST_GROUPS:
            break
        a, b = pairs[least]
        groups = [g for g in groups if g not in (a, b)] + [tuple(sorted(a + b))]
    return sorted(groups)


def may_join(fine: FineResults, a: Group, b: Group) -> bool:
    """Tell whether two groups can share a way on.

    Bands of a reading must then be neighbours; a trial's cure shares its way with nothing else, as only there the
    vehicle is left with what cured it.
    """
    if fine.edges is None:
        return fine.step.kind != "try" or (CURED in _names(fine, a)) == (CURED in _names(fine, b))
    bands = sorted(o for o in a + b if o != fine.over)
    return not bands or bands[-1] - bands[0] == len(bands) - 1


def _names(fine: FineResults, group: Group) -> set[str]:
    return {fine.names[o] for o in group}


def _listed(fine: FineResults, chance: Array) -> list[int]:
    seen = np.flatnonzero(chance > OUTSIDE * chance.sum())
    if fine.edges is None:
        return [int(o) for o in seen]
    bands = seen[seen != fine.over]
    inner = list(range(int(bands[0]), int(bands[-1]) + 1)) if len(bands) else []
    return inner + ([fine.over] if fine.over in seen else [])


def with_over_limit(belief: Belief, fine: FineResults, groups: Sequence[Group]) -> list[Group]:
    """Add OL to the highest band of an ohms test where no case shows it: who reads OL takes it as 'above' too."""
    top = fine.over - 1
    if fine.edges is None or belief.model.function(fine.step.name).kind != "resistance":
        return list(groups)
    if any(fine.over in group for group in groups):
        return list(groups)
    return [(*group, fine.over) if top in group else group for group in groups]


def _information(one: Array, other: Array) -> float:
    """Return what telling two results apart tells about the suspects, times their probability [nat]."""

    def spread(mass: Array) -> float:
        return float(xlogy(mass.sum(), mass.sum()) - xlogy(mass, mass).sum())

    return spread(one + other) - spread(one) - spread(other)


def paper_results(
    belief: Belief, fine: FineResults, groups: Sequence[Group], weight: Array, cost: Array, tolerance: float
) -> tuple[PaperResult, ...]:
    """Return the results as they are printed.

    Each edge between bands is moved to the manual's limit, else to the number of fewest digits, with which the chart
    costs at most `tolerance` more than with the edge as computed.

    Parameters
    ----------
    weight : (H,) float
        What arrives at the step.
    cost : (groups + 1, H) float
        Cost of the way on of each group, and of a reading outside all bands.
    """
    step = fine.step
    if fine.edges is None:
        return tuple(
            PaperResult(_title(belief.model, step, fine.names[o]), _seen(step, fine.names[o]), fine.chances[:, o], g)
            for o, g in sorted((o, g) for g, group in enumerate(groups) for o in group)
        )
    return tuple(_reading_results(belief, fine, groups, weight, cost, tolerance))


def _seen(step: Step, outcome: str) -> OutcomeSeen:
    if step.kind == "measure":
        raise ValueError(f"'{step.name}' is a reading; it has bands, not outcomes")
    return OutcomeSeen(SEEN_AS[step.kind], step.name, outcome)


def _reading_results(
    belief: Belief, fine: FineResults, groups: Sequence[Group], weight: Array, cost: Array, tolerance: float
) -> Iterator[PaperResult]:
    bounds = np.concatenate([[-np.inf], fine.edges if fine.edges is not None else [], [np.inf]])
    runs = sorted((min(b), max(b), g) for g, group in enumerate(groups) if (b := [o for o in group if o != fine.over]))
    cuts = [float(bounds[first]) for first, _, _ in runs] + [float(bounds[runs[-1][1] + 1])] if runs else []
    ways = [len(groups), *(g for _, _, g in runs), len(groups)]
    for k in range(len(cuts)):
        if np.isfinite(cuts[k]):
            # The outermost edges move outward only: no case is left out for the sake of a round number.
            low = -np.inf if not k else cuts[k - 1] if k + 1 < len(cuts) else cuts[k] - _JUST
            high = cuts[k] + _JUST if not k else cuts[k + 1] if k + 1 < len(cuts) else np.inf
            stake = weight * (cost[ways[k]] - cost[ways[k + 1]])
            cuts[k] = _round_edge(belief, fine.step, (low, cuts[k], high), stake, tolerance)
    inner = np.array([c for c in cuts if np.isfinite(c)])
    chances = _bands(belief, fine.step, inner)
    skipped = 1 if cuts and np.isfinite(cuts[0]) else 0
    function = belief.model.function(fine.step.name)
    for k, (_, _, g) in enumerate(runs):
        band = BandSeen(fine.step.name, cuts[k], cuts[k + 1])
        yield PaperResult(band_text(function, cuts[k], cuts[k + 1]), band, chances[:, k + skipped], g)
    for g, group in enumerate(groups):
        if fine.over in group:
            yield PaperResult("OL", BandSeen(fine.step.name, over_limit=True), chances[:, -1], g)


def _round_edge(belief: Belief, step: Step, edge: tuple[float, float, float], stake: Array, tolerance: float) -> float:
    """Return the edge (low neighbour, itself, high neighbour) moved to a number that reads well.

    `stake` (H,) is what a hypothesis costs more when it falls below the edge than above it.
    """
    low, value, high = edge
    limits = _limits(belief.model, step)
    choices = [c for c in dict.fromkeys([*limits, *_round_numbers(value)]) if low < c < high]
    every = np.unique([*choices, value])
    below = np.cumsum(_bands(belief, step, every)[:, : len(every)], axis=1)
    cost = dict(zip(every.tolist(), (stake @ below).tolist(), strict=True))
    for choice in choices:
        if cost[choice] - cost[value] <= tolerance * (LIMIT_WORTH if choice in limits else 1.0):
            return choice
    return min(choices, key=lambda c: cost[c]) if choices else value


def _limits(model: Model, step: Step) -> list[float]:
    limit = model.circuit.measurements[step.name].limit
    return [b for b in (limit.low, limit.high) if b is not None] if limit else []


def _round_numbers(value: float) -> list[float]:
    """Return numbers near a value, those of fewer digits first."""
    found = [0.0] if abs(value) < NEAR_ZERO else []
    for digits in range(1, FINEST + 1):
        size = 10.0 ** (np.floor(np.log10(max(abs(value), 1e-12))) - digits + 1)
        near = (np.floor(value / size), np.ceil(value / size))
        found += sorted((float(f"{n * size:.{FINEST}g}") for n in near), key=lambda c: abs(c - value))
    return found


def _bands(belief: Belief, step: Step, edges: Array) -> Array:
    model = belief.model
    return belief.band_chances(model.column[step.name], model.function(step.name), edges, slip=0.0)


def band_text(function: Function, low: float, high: float) -> str:
    """Return a band in words."""
    if np.isinf(low) and np.isinf(high):
        return "any value"
    if np.isinf(low):
        return f"below {describe(function, high)}"
    if np.isinf(high):
        return f"above {describe(function, low)}"
    return f"{describe(function, low)} to {describe(function, high)}"


def _title(model: Model, step: Step, outcome: str) -> str:
    if step.kind == "watch":
        return model.circuit.behaviours[step.name].outcomes[outcome].title
    if step.kind == "look":
        return model.circuit.looks[step.name].outcomes[outcome]
    return TRIAL_OUTCOMES[outcome]
