"""What each possible result of a step would look like and what it would leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.diagnosis.advice_model import Opinion, Possible
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.limits import sound_band
from proveout.diagnosis.model import Model
from proveout.diagnosis.outcomes import Outcomes, reading_outcomes, step_outcomes
from proveout.diagnosis.particles import Particles
from proveout.diagnosis.steps import TRIAL_OUTCOMES, Step
from proveout.instruments import Function, describe
from proveout.network.laws import Array

__all__ = ["ResultGroup", "opinions_of", "possible_results", "result_groups", "ruled_out"]

Index = npt.NDArray[np.intp]
SHOWN = 4
UNLIKELY = 0.005  # results rarer than this are not shown


def opinions_of(model: Model, chances: Array) -> tuple[Opinion, ...]:
    """Return suspects with their probabilities, the most probable first."""
    order = np.argsort(-chances, kind="stable")
    return tuple(Opinion(model.suspects[k].name, model.suspects[k].title, float(chances[k])) for k in order)


def ruled_out(model: Model, before: Array, after: Array) -> tuple[str, ...]:
    """Return titles of the suspects that were likely enough to matter and are no longer."""
    out = (before > 0.01) & (after < 0.005) & (after < 0.2 * before)
    return tuple(model.suspects[k].title for k in np.argsort(-before) if out[k])


@dataclass(frozen=True)
class ResultGroup:
    """Results of a step that leave the same suspects.

    `chances` (H,) is P(any of them | hypothesis), `chance` the same under the belief, `per_suspect` the joint
    probability. For a reading `low` to `high` or `over_limit`, for what is seen `outcome`.
    """

    label: str
    chance: float
    per_suspect: Array
    outcome: str = ""
    low: float = float("-inf")
    high: float = float("inf")
    over_limit: bool = False


def result_groups(belief: Belief, step: Step, particles: Particles) -> tuple[ResultGroup, ...]:
    """Return the groups of results of a step that are likely enough to show, by the hypotheses of the particles.

    What is seen comes with the most probable first, readings ascending; neighbouring bands of a reading are joined
    where they leave the same leading suspects.
    """
    model, kept = belief.model, particles.kept
    found, walls = _split_at_good(belief, step, kept)
    joint = found.chances * (particles.weight / particles.weight.sum())[:, None]
    size, suspect = len(model.suspects), model.hypotheses.suspect[kept]
    per_suspect = np.stack([np.bincount(suspect, c, size) for c in joint.T]).astype(float)
    groups = [_group(model, step, found, members, per_suspect) for members in _joined(per_suspect, found, walls)]
    return tuple(g for g in groups if g.chance >= UNLIKELY)


def _split_at_good(belief: Belief, step: Step, kept: Index) -> tuple[Outcomes, frozenset[int]]:
    """Return the results of a step, a reading's bands split where a sound vehicle's band ends, and those edges."""
    if step.kind != "measure":
        return step_outcomes(belief, step, kept), frozenset()
    good = sound_band(belief.model, step.name)
    ends = [e for e in (good.low, good.high) if e is not None]
    found = reading_outcomes(belief, step.name, kept, ends)
    edges = np.empty(0) if found.edges is None else found.edges
    return found, frozenset(int(k) for k in np.searchsorted(edges, ends))


def _group(model: Model, step: Step, found: Outcomes, members: Sequence[int], per_suspect: Array) -> ResultGroup:
    mass = per_suspect[list(members)].sum(axis=0)
    label = _label(model, step, found, members)
    name = found.names[members[0]]
    if found.edges is None:
        return ResultGroup(label, float(mass.sum()), mass, outcome=name)
    if name == "OL":
        return ResultGroup(label, float(mass.sum()), mass, over_limit=True)
    bounds = np.concatenate([[-np.inf], found.edges, [np.inf]])
    low, high = float(bounds[members[0]]), float(bounds[members[-1] + 1])
    return ResultGroup(label, float(mass.sum()), mass, low=low, high=high)


def possible_results(belief: Belief, step: Step, particles: Particles) -> tuple[Possible, ...]:
    """Return what each possible result of a step looks like, what it leaves and what it rules out."""
    model, before = belief.model, belief.by_suspect()
    results = []
    for group in result_groups(belief, step, particles):
        after = group.per_suspect / group.chance
        leaves = tuple(o for o in opinions_of(model, after)[:SHOWN] if o.probability >= 0.01)
        results.append(Possible(group.label, group.chance, leaves, ruled_out(model, before, after)))
    return tuple(results)


def _joined(per_suspect: Array, found: Outcomes, walls: frozenset[int]) -> list[list[int]]:
    """Return groups of outcome numbers; bands of a reading are joined across every edge but the `walls`."""
    if found.edges is None:
        return [[k] for k in np.argsort(-per_suspect.sum(axis=1))]
    groups: list[list[int]] = []
    for k in range(len(found.edges) + 1):
        if groups and k - 1 not in walls and _alike(per_suspect[groups[-1]].sum(axis=0), per_suspect[k]):
            groups[-1].append(k)
        else:
            groups.append([k])
    return [*groups, [len(found.edges) + 1]]


def _alike(one: Array, other: Array) -> bool:
    if min(one.sum(), other.sum()) < UNLIKELY:
        return True
    p, q = one / one.sum(), other / other.sum()
    return bool(0.5 * np.abs(p - q).sum() < 0.25)


def _label(model: Model, step: Step, found: Outcomes, group: Sequence[int]) -> str:
    if found.edges is None:
        return _title(model, step, found.names[group[0]])
    if found.names[group[0]] == "OL":
        return "OL"
    function = model.function(step.name)
    first, last = group[0], group[-1]
    if first == 0 and last == len(found.edges):
        return "any value"
    if first == 0:
        return f"below {_number(function, float(found.edges[last]))}"
    if last == len(found.edges):
        return f"above {_number(function, float(found.edges[first - 1]))}"
    low, high = float(found.edges[first - 1]), float(found.edges[last])
    return f"{_number(function, low)} to {_number(function, high)}"


def _number(function: Function, value: float) -> str:
    return describe(function, float(f"{value:.3g}"))


def _title(model: Model, step: Step, outcome: str) -> str:
    if step.kind == "watch":
        return model.circuit.behaviours[step.name].outcomes[outcome].title
    if step.kind == "look":
        return model.circuit.looks[step.name].outcomes[outcome]
    return TRIAL_OUTCOMES[outcome]
