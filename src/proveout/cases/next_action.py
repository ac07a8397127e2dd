"""What to do next in a case: the harness check before the first probe, the advised step, the proof, the end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from proveout.cases.case_state import CaseState
from proveout.cases.permission import unchecked
from proveout.diagnosis import Belief, advise
from proveout.diagnosis.advice_model import Advice
from proveout.diagnosis.steps import steps_of

__all__ = ["NextAction", "next_action"]


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
