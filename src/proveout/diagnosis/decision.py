"""From a belief and a workshop to the planner's arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.circuits.repairs import access_closure
from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.evidence import BandSeen, OutcomeSeen, ReadingTaken
from proveout.diagnosis.outcomes import Outcomes, step_outcomes, steps_likelihood
from proveout.diagnosis.particles import Particles, particles_of
from proveout.diagnosis.planner import DecisionProblem
from proveout.diagnosis.steps import SEEN_AS, Step, steps_of
from proveout.network.laws import Array

__all__ = ["Decision", "Outcomes", "build_decision", "disturbance", "open_steps", "step_outcomes"]

Index = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]
VANISHES = 0.02  # chance that unplugging a connector hides the fault for now: common practice


@dataclass(frozen=True)
class Decision:
    """A planner's problem with the steps its tests and the hypotheses its particles stand for."""

    problem: DecisionProblem
    steps: tuple[Step, ...]
    particles: Particles
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


def build_decision(belief: Belief, shop: Shop) -> Decision:
    """Return the planner's problem for a belief: hypotheses merged into particles, results into bins.

    Costs are money: minutes at the shop's labour rate, and parts. Every case ends with one repair, or one cure by a
    trial, so what a wrong repair costs on top is put on every repair and cure; `excess` says how much too much each
    expected cost then is.
    """
    particles = particles_of(belief)
    prior = particles.mass
    steps = open_steps(belief, shop)
    likelihood = steps_likelihood(belief, steps, particles)
    cures = np.zeros((len(steps), len(prior)))
    for k, step in enumerate(steps):
        if step.kind == "try" and not belief.model.circuit.trials[step.name].undone:
            cured = particles.merged(belief.model.cures[step.name][particles.kept])
            cures[k] = np.minimum(cured, 1.0)  # shares add to 1 but for rounding
            likelihood[k, :, :2] = particles.merged(_looks_cured(belief, particles.kept))
    costs = _costs(belief, shop, steps)
    repair_of = belief.model.hypotheses.suspect[particles.kept][particles.first].astype(np.int64)
    problem = DecisionProblem(
        prior=prior / prior.sum(),
        repair_of=repair_of,
        likelihood=likelihood / likelihood.sum(axis=2, keepdims=True),
        cures=cures,
        cure_cost=_cure_costs(belief, steps, cures * prior, repair_of, costs.repair_cost, shop.wrong_repair),
        **vars(costs),
    )
    return Decision(problem, steps, particles, shop.wrong_repair)


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
    per_suspect = np.array([np.bincount(repair_of, row, len(repair_cost)) for row in cured])
    per_suspect = per_suspect.reshape(len(steps), len(repair_cost))
    expected = per_suspect @ repair_cost / total
    sure = per_suspect.max(axis=1) / total
    return np.where(lasting, wrong_repair, expected + wrong_repair * (1.0 - sure))


def disturbance(belief: Belief, shop: Shop, step: Step) -> float:
    """Return what unplugging a connector risks: the fault may vanish with it, and then nothing is proven."""
    circuit = belief.model.circuit
    unplugs = bool(step.kind == "look" and step.connectors) or bool(step.setup and circuit.setups[step.setup].unplugged)
    return VANISHES * shop.wrong_repair if unplugs and step.setup != shop.setup else 0.0


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
        test_cost=np.array([s.minutes * per_minute + s.parts + disturbance(belief, shop, s) for s in steps]),
        test_access=test_access,
        test_setup=np.array([setups.index(s.setup) if s.setup else -1 for s in steps], dtype=np.int64),
        setup_cost=np.array([circuit.setups[u].minutes * per_minute for u in setups]),
        setup=setups.index(shop.setup) if shop.setup else -1,
        access_cost=np.array([circuit.access[a].minutes * per_minute for a in access]),
        opened=opened[0],
        repair_cost=np.array([(r.minutes + proof) * per_minute + r.parts + shop.wrong_repair for r in repairs]),
        repair_access=repair_access,
    )
