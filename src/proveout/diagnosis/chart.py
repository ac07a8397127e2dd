"""Flow charts as trees, and the chart that is derived from the circuit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from proveout.diagnosis.advice_model import Opinion, Shop
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.decision import build_decision
from proveout.diagnosis.evidence import BandSeen, Evidence, OutcomeSeen
from proveout.diagnosis.model import Model
from proveout.diagnosis.planner import plan
from proveout.diagnosis.results import ResultGroup, result_groups
from proveout.diagnosis.steps import SEEN_AS, Step
from proveout.network.laws import Array

__all__ = [
    "Branch",
    "Chart",
    "ChartEnd",
    "ChartStep",
    "after_step",
    "derive_chart",
    "evidence_of",
    "step_minutes",
    "walk",
]

RARE = 0.004  # a branch that fewer cases reach ends in 'go on with the advice': not worth its place on paper
DEEPEST = 14


@dataclass(frozen=True)
class ChartEnd:
    """Where a path ends: repair a suspect, or stop with what is still open.

    `suspect` is empty for a stop. `left` are the suspects that remain, the most probable first.
    """

    number: int
    suspect: str
    title: str
    left: tuple[Opinion, ...]


@dataclass(frozen=True)
class Branch:
    """One result of a step: its label, the evidence it gives, P(result | hypothesis) (H,), and where it leads."""

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
    """A chart for a circuit: its root and the belief and shop it starts from."""

    title: str
    start: Belief
    shop: Shop
    root: ChartStep | ChartEnd


def walk(node: ChartStep | ChartEnd) -> Iterator[ChartStep | ChartEnd]:
    """Yield a node and all below it, in reading order."""
    yield node
    if isinstance(node, ChartStep):
        for branch in node.branches:
            yield from walk(branch.target)


def after_step(shop: Shop, step: Step) -> Shop:
    """Return the shop after a step: what it opened is open, the vehicle is in its set-up."""
    return replace(shop, opened=shop.opened | set(step.access), setup=step.setup or shop.setup)


def step_minutes(model: Model, shop: Shop, step: Step) -> float:
    """Return the minutes of a step from here, with the access and set-up it still needs."""
    circuit = model.circuit
    access = sum(circuit.access[a].minutes for a in step.access if a not in shop.opened)
    change = circuit.setups[step.setup].minutes if step.setup and step.setup != shop.setup else 0.0
    return step.minutes + access + change


def derive_chart(
    belief: Belief, shop: Shop, *, title: str = "", progress: Callable[[float], None] | None = None
) -> Chart:
    """Derive the flow chart of a circuit from what is believed now.

    At every node stands the step that the planner would advise; results that lead to the same suspects are one branch;
    branches that almost no case reaches are pruned.

    Parameters
    ----------
    belief : Belief
    shop : Shop
    title : str
    progress : callable, optional
        Called with the share of probability that is settled.
    """
    work = _Derivation(belief.model, progress)
    root = work.node(belief, shop, 1.0, 0)
    return Chart(title or belief.model.circuit.title, belief, shop, root)


class _Derivation:
    def __init__(self, model: Model, progress: Callable[[float], None] | None) -> None:
        self.model, self.progress = model, progress
        self.count, self.settled = 0, 0.0

    def node(self, belief: Belief, shop: Shop, reach: float, depth: int) -> ChartStep | ChartEnd:
        self.count += 1
        number = self.count
        decision = build_decision(belief, shop)
        found = plan(decision.problem)
        if found.action.kind == "repair":
            return self._end(number, belief, self.model.suspects[found.action.index].name, reach)
        if reach < RARE or depth >= DEEPEST:
            return self._end(number, belief, "", reach)
        step = decision.steps[found.action.index]
        return ChartStep(
            number, step, step_minutes(self.model, shop, step), tuple(self._branches(belief, shop, step, reach, depth))
        )

    def _branches(self, belief: Belief, shop: Shop, step: Step, reach: float, depth: int) -> Iterator[Branch]:
        then = after_step(shop, step)
        for group in result_groups(belief, step):
            evidence = evidence_of(step, group)
            after = belief.after(evidence)
            on = reach * group.chance
            target = self._cured(after, on) if _is_cure(evidence) else self.node(after, then, on, depth + 1)
            yield Branch(group.label, evidence, group.chances, target)

    def _cured(self, belief: Belief, reach: float) -> ChartEnd:
        self.count += 1
        return self._end(self.count, belief, belief.suspects()[0].suspect, reach)

    def _end(self, number: int, belief: Belief, suspect: str, reach: float) -> ChartEnd:
        self.settled += reach
        if self.progress is not None:
            self.progress(min(self.settled, 1.0))
        left = tuple(o for o in belief.suspects()[:4] if o.probability > 0.02)
        if not suspect:
            return ChartEnd(number, "", "Rare on paper: go on with the advice", left)
        return ChartEnd(number, suspect, self.model.suspects[self.model.suspect_index[suspect]].repair.title, left)


def _is_cure(evidence: Evidence) -> bool:
    return isinstance(evidence, OutcomeSeen) and evidence.kind == "trial" and evidence.outcome == "cured"


def evidence_of(step: Step, group: ResultGroup) -> Evidence:
    """Return the evidence that a group of results gives."""
    if step.kind == "measure":
        return BandSeen(step.name, group.low, group.high, group.over_limit)
    return OutcomeSeen(SEEN_AS[step.kind], step.name, group.outcome)
