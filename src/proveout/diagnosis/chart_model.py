"""A flow chart as plain data: steps, the results that lead on from each, and where paths end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from proveout.diagnosis.advice_model import Opinion, Shop
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.evidence import Evidence, OutcomeSeen
from proveout.diagnosis.model import Model
from proveout.diagnosis.steps import Step
from proveout.network.laws import Array

__all__ = ["Branch", "Chart", "ChartEnd", "ChartStep", "after_step", "is_cure", "step_minutes", "walk"]


@dataclass(frozen=True)
class ChartEnd:
    """Where a path ends: repair a suspect, or stop with what is still open.

    `suspect` is empty for a stop. `left` are the suspects that remain, in the order in which they are repaired. An end
    is `settled` where it is a finding: the suspect it names is likely enough to be repaired without a further test.
    """

    number: int
    suspect: str
    title: str
    left: tuple[Opinion, ...]
    settled: bool = True


@dataclass(frozen=True)
class Branch:
    """One result of a step: its label, the evidence it gives, and where it leads.

    `chances` (H,) is P(result | hypothesis) of readings without slips. Branches may lead to the same node.
    """

    label: str
    evidence: Evidence
    chances: Array
    target: ChartStep | ChartEnd


@dataclass(frozen=True)
class ChartStep:
    """One step of a chart with its results; minutes are those from here, access and set-up included."""

    number: int
    step: Step
    minutes: float
    branches: tuple[Branch, ...]


@dataclass(frozen=True)
class Chart:
    """A chart for a circuit: its root and the belief and shop it starts from.

    `standing` is the sentence that holds for every step, empty where the chart has none.
    """

    title: str
    start: Belief
    shop: Shop
    root: ChartStep | ChartEnd
    standing: str = ""


def walk(node: ChartStep | ChartEnd) -> Iterator[ChartStep | ChartEnd]:
    """Yield a node and all below it, in reading order, each once although several branches may lead to it."""
    seen: set[int] = set()
    waiting = [node]
    while waiting:
        here = waiting.pop()
        if here.number in seen:
            continue
        seen.add(here.number)
        yield here
        if isinstance(here, ChartStep):
            waiting += [branch.target for branch in reversed(here.branches)]


def after_step(shop: Shop, step: Step) -> Shop:
    """Return the shop after a step: what it opened is open, the vehicle is in its set-up."""
    return replace(shop, opened=shop.opened | set(step.access), setup=step.setup or shop.setup)


def step_minutes(model: Model, shop: Shop, step: Step) -> float:
    """Return the minutes of a step from here, with the access and set-up it still needs."""
    circuit = model.circuit
    access = sum(circuit.access[a].minutes for a in step.access if a not in shop.opened)
    change = circuit.setups[step.setup].minutes if step.setup and step.setup != shop.setup else 0.0
    return step.minutes + access + change


def is_cure(evidence: Evidence) -> bool:
    """Tell whether the evidence is that a trial made the vehicle behave."""
    return isinstance(evidence, OutcomeSeen) and evidence.kind == "trial" and evidence.outcome == "cured"
