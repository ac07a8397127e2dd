"""From a belief and a workshop to the planner's arrays."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt

from proveout.circuits.repairs import access_closure
from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.bins import bin_edges
from proveout.diagnosis.evidence import BandSeen, OutcomeSeen, ReadingTaken
from proveout.diagnosis.likelihood import shown_spread
from proveout.diagnosis.planner import DecisionProblem
from proveout.diagnosis.steps import SEEN_AS, Step, steps_of
from proveout.network.laws import Array

__all__ = ["Decision", "Outcomes", "build_decision", "open_steps", "step_outcomes"]

Index = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]
BINS = 10
MOST_PARTICLES = 160
NEGLIGIBLE = 1e-3  # probability mass of hypotheses that the planner may leave out


@dataclass(frozen=True)
class Outcomes:
    """The possible results of one step: P(outcome | hypothesis) (H, outcome), names, and for readings the bin edges."""

    names: tuple[str, ...]
    chances: Array
    edges: Array | None = None


@dataclass(frozen=True)
class Decision:
    """A planner's problem with the steps its tests stand for."""

    problem: DecisionProblem
    steps: tuple[Step, ...]
    outcomes: tuple[Outcomes, ...]
    excess: float


def open_steps(belief: Belief, shop: Shop) -> tuple[Step, ...]:
    """Return the steps that can be taken now: possible, not blocked, and not taken already.

    A reading that looks like a slip may be taken again.
    """
    done = {(e.kind, e.name) for e in belief.evidence if isinstance(e, OutcomeSeen) and not e.past}
    taken = {e.measurement for e in belief.evidence if isinstance(e, ReadingTaken | BandSeen)} - belief.doubtful

    def is_open(step: Step) -> bool:
        if step.name in shop.cannot or step.connectors & shop.blocked:
            return False
        return step.name not in taken if step.kind == "measure" else (SEEN_AS[step.kind], step.name) not in done

    return tuple(step for step in steps_of(belief.model.circuit) if is_open(step))


def step_outcomes(belief: Belief, step: Step, kept: Index | None = None) -> Outcomes:
    """Return the possible results of a step and their probability under each hypothesis, (H, outcome).

    With `kept` only the rows of those hypotheses are computed, in that order.
    """
    model = belief.model
    kept = np.arange(len(model.hypotheses)) if kept is None else kept
    if step.kind == "measure":
        return _reading_outcomes(belief, step.name, kept)
    if step.kind == "watch":
        names = tuple(model.circuit.behaviours[step.name].outcomes)
        return Outcomes(names, belief.behaviour_chances(step.name)[kept])
    if step.kind == "look":
        return Outcomes(tuple(model.circuit.looks[step.name].outcomes), model.looks[step.name][kept])
    return Outcomes(("cured", "same"), belief.trial_chances(step.name)[kept])


def _reading_outcomes(belief: Belief, measurement: str, kept: Index) -> Outcomes:
    model, h = belief.model, belief.model.hypotheses
    function, column = model.function(measurement), model.column[measurement]
    rows, back = np.unique(np.append(h.row[kept], 0), return_inverse=True)
    centre, variance = belief.predictive_rows(column, rows)
    over, spread = shown_spread(model.meter, function, centre, variance)
    weight = belief.weight[kept] * h.known[kept]
    showing = np.bincount(back[:-1], weight * belief.presence[kept], len(rows))
    showing[back[-1]] += np.sum(weight * (1.0 - belief.presence[kept]))
    seen = over < 0.99
    edges = bin_edges(centre[seen], spread[seen], (showing * (1.0 - over))[seen], BINS)
    names = tuple(f"band {k}" for k in range(len(edges) + 1))
    return Outcomes((*names, "OL"), belief.band_chances(column, function, edges, kept), edges)


def build_decision(
    belief: Belief, shop: Shop, outcomes_of: Callable[[Step, Index], Outcomes] | None = None
) -> Decision:
    """Return the planner's problem for a belief: hypotheses merged into particles, results into bins.

    Costs are money: minutes at the shop's labour rate, and parts. Every case ends with one repair, or one cure by a
    trial, so what a wrong repair costs on top is put on every repair and cure; `excess` says how much too much each
    expected cost then is. `outcomes_of` gives the possible results of a step for chosen hypotheses; by default
    `step_outcomes`.
    """
    h = belief.model.hypotheses
    kept, group = _particles(belief)
    weight = belief.weight[kept]
    prior = np.bincount(group, weight)
    steps = open_steps(belief, shop)
    results = outcomes_of or partial(step_outcomes, belief)
    outcomes = tuple(results(step, kept) for step in steps)
    width = max((o.chances.shape[1] for o in outcomes), default=1)
    likelihood = np.zeros((len(steps), len(prior), width))
    cures = np.zeros((len(steps), len(prior)))
    first = np.unique(group, return_index=True)[1]
    share = (weight / prior[group])[:, None]
    for k, (step, found) in enumerate(zip(steps, outcomes, strict=True)):
        chances = found.chances
        if step.kind == "try" and not belief.model.circuit.trials[step.name].undone:
            cured = belief.model.cures[step.name][kept]
            cures[k] = np.minimum(np.add.reduceat(cured * share[:, 0], first), 1.0)  # shares add to 1 but for rounding
            chances = _looks_cured(belief, kept)
        likelihood[k, :, : chances.shape[1]] = np.add.reduceat(chances * share, first, axis=0)
    costs = _costs(belief, shop, steps)
    repair_of = h.suspect[kept][first].astype(np.int64)
    problem = DecisionProblem(
        prior=prior / prior.sum(),
        repair_of=repair_of,
        likelihood=likelihood / likelihood.sum(axis=2, keepdims=True),
        cures=cures,
        cure_cost=_cure_costs(belief, steps, cures * prior, repair_of, costs.repair_cost, shop.wrong_repair),
        **vars(costs),
    )
    return Decision(problem, steps, outcomes, shop.wrong_repair)


def _looks_cured(belief: Belief, kept: Index) -> Array:
    """Return P(the vehicle behaves, or not | hypothesis) where the trial did not cure: an absent fault behaves."""
    gone = np.clip(1.0 - belief.presence[kept], 0.002, 0.998)
    return np.column_stack([gone, 1.0 - gone])


def _cure_costs(
    belief: Belief, steps: Sequence[Step], cured: Array, repair_of: Index, repair_cost: Array, wrong_repair: float
) -> Array:
    """Return what a cure still costs, (T,), with `cured` (T, particle) the joint probabilities.

    Nothing more where it lasts; else the repair of what it cured, and the risk of repairing another suspect that it
    would have cured too, for nothing shows the fault any more.
    """
    trials = belief.model.circuit.trials
    lasting = np.array([step.kind != "try" or trials[step.name].lasting for step in steps])
    total = np.maximum(cured.sum(axis=1), 1e-12)
    per_suspect = np.stack([np.bincount(repair_of, row, len(repair_cost)) for row in cured])
    expected = per_suspect @ repair_cost / total
    sure = per_suspect.max(axis=1) / total
    return np.where(lasting, wrong_repair, expected + wrong_repair * (1.0 - sure))


def _particles(belief: Belief) -> tuple[Index, Index]:
    """Return the hypotheses that matter, in order, and the particle (0, 1, ...) each is merged into."""
    h, weight = belief.model.hypotheses, belief.weight
    order = np.argsort(-weight)
    enough = np.searchsorted(np.cumsum(weight[order]), 1.0 - NEGLIGIBLE) + 1
    kept = np.sort(order[:enough])
    block = np.concatenate([[0], np.cumsum((np.diff(h.variant[kept]) != 0) | (np.diff(h.presence[kept]) != 0))])
    within = np.arange(len(kept)) - np.searchsorted(block, block)
    for size in range(1, 64):
        pair = block * 10_000 + within // size
        labels, group = np.unique(pair, return_inverse=True)
        if len(labels) <= MOST_PARTICLES:
            break
    return kept, group


@dataclass(frozen=True)
class _Costs:
    test_cost: Array
    test_access: Flags
    test_setup: Index
    setup_cost: Array
    setup: int
    access_cost: Array
    opened: Flags
    repair_cost: Array
    repair_access: Flags


def _costs(belief: Belief, shop: Shop, steps: Sequence[Step]) -> _Costs:
    circuit, model = belief.model.circuit, belief.model
    per_minute = shop.labour_rate / 60.0
    access = list(circuit.access)
    setups = list(circuit.setups)

    def mask(names: Sequence[str]) -> list[bool]:
        return [a in names for a in access]

    proof = circuit.behaviours[circuit.proof].minutes
    repairs = [s.repair for s in model.suspects]
    opened, test_access, repair_access = (
        np.array([mask(names) for names in lists], dtype=bool).reshape(len(lists), len(access))
        for lists in (
            [tuple(shop.opened)],
            [s.access for s in steps],
            [access_closure(circuit, r.access) for r in repairs],
        )
    )
    return _Costs(
        test_cost=np.array([s.minutes * per_minute + s.parts for s in steps]),
        test_access=test_access,
        test_setup=np.array([setups.index(s.setup) if s.setup else -1 for s in steps], dtype=np.int64),
        setup_cost=np.array([circuit.setups[u].minutes * per_minute for u in setups]),
        setup=setups.index(shop.setup) if shop.setup else -1,
        access_cost=np.array([circuit.access[a].minutes * per_minute for a in access]),
        opened=opened[0],
        repair_cost=np.array([(r.minutes + proof) * per_minute + r.parts + shop.wrong_repair for r in repairs]),
        repair_access=repair_access,
    )
