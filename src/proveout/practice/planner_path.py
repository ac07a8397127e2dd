"""What the planner would have done with the same vehicle, from the same complaint."""

from __future__ import annotations

from typing import Literal

from proveout.cases.case_state import CaseState
from proveout.cases.desk import Desk
from proveout.cases.events import CircuitChosen, Opened
from proveout.cases.history import believe
from proveout.cases.memory_store import MemoryStore
from proveout.cases.next_action import NextAction, next_action
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE
from proveout.practice.hidden import HiddenVehicle
from proveout.practice.work import Work

__all__ = ["follow_planner"]

MOST_STEPS = 60


def follow_planner(opened: Opened, circuit: CircuitChosen, vehicle: HiddenVehicle) -> CaseState:
    """Do what is advised on a vehicle, from the first harness check to handing it over; return the case then."""
    desk = Desk(MemoryStore())
    work = Work(desk, desk.open(opened, circuit), vehicle)
    for _ in range(MOST_STEPS):
        state = work.state
        if state.phase == "closed":
            break
        _take(work, next_action(believe(vehicle.model, state), state, alternatives=0))
    else:
        work.hand_over(because=f"no end after {MOST_STEPS} steps")
    return work.state


def _take(work: Work, action: NextAction) -> None:
    if action.kind == "prove":
        work.prove()
    elif action.kind == "close":
        work.hand_over()
    elif action.kind == "harness":
        for connector in action.connectors:
            work.compare(connector)
    elif action.advice is not None:
        _step(work, action.advice.best.kind, action.advice.best.name, action.advice.stop)


def _step(work: Work, kind: Literal["measure", "look", "watch", "try", "repair"], name: str, stop: str) -> None:
    if kind != "repair":
        work.do(name, (kind,))
    elif name in (NO_FAULT_NOW, NONE_OF_THESE):
        work.hand_over(because=stop or name)
    else:
        work.repair(name)
