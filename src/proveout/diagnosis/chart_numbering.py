"""From a drafted chart to the numbered one: in reading order, and what says the same and leads to the same is one."""

from __future__ import annotations

import numpy as np

from proveout.diagnosis.advice_model import Opinion
from proveout.diagnosis.chart_draft import Draft
from proveout.diagnosis.chart_model import Branch, ChartEnd, ChartStep
from proveout.diagnosis.model import Model
from proveout.network.laws import Array

__all__ = ["count_steps", "numbered"]

TELLING = 0.05  # probability from which a suspect left counts in telling two ends apart
SHOWN = 0.02
MOST_LEFT = 4

Key = tuple[object, ...]


def numbered(model: Model, root: Draft) -> ChartStep | ChartEnd:
    """Return the chart of a draft."""
    keys = _Keys()
    keys.of(root)
    return _Numbering(model, keys).node(root)


def count_steps(root: Draft) -> int:
    """Return how many steps the numbered chart has."""
    keys = _Keys()
    keys.of(root)
    return sum(is_step for is_step in keys.steps.values())


class _Keys:
    """Tells nodes apart by what they say; adds up what arrives at ends that are one."""

    def __init__(self) -> None:
        self.number: dict[Key, int] = {}
        self.steps: dict[int, bool] = {}
        self.mass: dict[int, Array] = {}
        self.place: dict[int, int] = {}

    def of(self, draft: Draft) -> int:
        """Return the node's place, the same for nodes that are one."""
        ways = tuple(self.of(way) for way in draft.ways)
        if draft.step is None:
            share = draft.mass / max(draft.mass.sum(), 1e-300) if draft.mass is not None else np.zeros(0)
            key: Key = (draft.suspect, draft.title, draft.cured, tuple(k for k in draft.order if share[k] > TELLING))
        else:
            results = tuple((r.evidence, ways[r.group]) for r in draft.results)
            key = (draft.step.kind, draft.step.name, round(draft.minutes, 6), results)
        place = self.number.setdefault(key, len(self.number))
        self.steps[place] = draft.step is not None
        if draft.mass is not None:
            self.mass[place] = self.mass.get(place, np.zeros_like(draft.mass)) + draft.mass
        self.place[id(draft)] = place
        return place


class _Numbering:
    def __init__(self, model: Model, keys: _Keys) -> None:
        self.model, self.keys = model, keys
        self.made: dict[int, ChartStep | ChartEnd] = {}
        self.count = 0

    def node(self, draft: Draft) -> ChartStep | ChartEnd:
        place = self.keys.place[id(draft)]
        if place not in self.made:
            self.count += 1
            self.made[place] = self._made(draft, self.count, place)
        return self.made[place]

    def _made(self, draft: Draft, number: int, place: int) -> ChartStep | ChartEnd:
        if draft.step is None:
            left = self._left(draft, self.keys.mass[place])
            return ChartEnd(number, draft.suspect, draft.title, left, draft.settled)
        branches = (Branch(r.label, r.evidence, r.chances, self.node(draft.ways[r.group])) for r in draft.results)
        return ChartStep(number, draft.step, draft.minutes, tuple(branches))

    def _left(self, draft: Draft, mass: Array) -> tuple[Opinion, ...]:
        """Return the suspects left at an end in the order of their repair, the one that it names first."""
        share, suspects = mass / max(mass.sum(), 1e-300), self.model.suspects
        order = [k for k in draft.order if suspects[k].name == draft.suspect or share[k] > SHOWN]
        return tuple(Opinion(suspects[k].name, suspects[k].title, float(share[k])) for k in order[:MOST_LEFT])
