"""What to do next in a case: the harness check before the first probe, the advised step, the proof, the end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from proveout.cases.case_state import CaseState
from proveout.cases.permission import unchecked
from proveout.diagnosis import Belief, advise
from proveout.diagnosis.advice_model import Advice, StepAdvice
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE
from proveout.diagnosis.steps import steps_of

__all__ = ["NextAction", "answer_to", "next_action"]


@dataclass(frozen=True)
class NextAction:
    """What to do next.

    Attributes
    ----------
    kind : str
        `harness` (compare the connectors named with the sheet, then do what is advised), `step` (do what is advised),
        `prove` (watch the proof behaviour after a repair), `close`, or `closed`.
    advice : Advice or None
        With `harness` and `step`.
    connectors : tuple of str
        With `harness`: those that the advised step touches and that were not compared yet.
    """

    kind: Literal["harness", "step", "prove", "close", "closed"]
    advice: Advice | None = None
    connectors: tuple[str, ...] = ()


def answer_to(step: StepAdvice) -> str:
    """Return what is typed when an advised step has been done."""
    if step.name == NO_FAULT_NOW:
        return 'proveout close --because "no fault present now"'
    if step.name == NONE_OF_THESE:
        return "proveout sheet FILE, or proveout close --because TEXT"
    if step.kind == "measure":
        return "proveout reading VALUE"
    return f"proveout repair {step.name}" if step.kind == "repair" else "proveout saw OUTCOME"


def next_action(belief: Belief, state: CaseState, *, alternatives: int = 5) -> NextAction:
    """Return what to do next; `alternatives` other steps are described beside the best one."""
    if state.phase == "closed":
        return NextAction("closed")
    if state.phase == "repaired":
        return NextAction("prove")
    if state.phase == "proven":
        return NextAction("close")
    advice = advise(belief, state.shop, alternatives=alternatives)
    if advice.best.kind != "measure":
        return NextAction("step", advice)
    step = next(s for s in steps_of(state.circuit) if s.kind == "measure" and s.name == advice.best.name)
    connectors = unchecked(state, step.connectors)
    return NextAction("harness" if connectors else "step", advice, connectors)
