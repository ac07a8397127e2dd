"""Runs the main job on a scenario: asks for advice, answers from the scenario, repairs, proves, reports.

No advice ever sees what the scenario holds beyond the answer to the step that was asked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import Any

from proveout.cases.advice_record import advice_event
from proveout.cases.desk import Recorded
from proveout.cases.entering import harness_event, reading_event
from proveout.cases.events import (
    CannotDo,
    Closed,
    OutcomeNoted,
    ReadingNoted,
    RepairNoted,
    made,
)
from proveout.cases.findings import accept, prove
from proveout.cases.history import believe
from proveout.cases.next_action import NextAction, next_action
from proveout.cases.twins import next_twin, state_twin
from proveout.cli.effect import effect_twin
from proveout.cli.report_files import write_report
from proveout.cli.workplace import Workplace
from proveout.demo.opening import demo_events, demo_readings, demo_scenario
from proveout.diagnosis.steps import SEEN_AS
from proveout.errors import InputError
from proveout.reports.report import Paper

__all__ = ["DemoRun"]

_MOST_STEPS = 40
_PLURALS = {"behaviour": "behaviours", "look": "looks", "trial": "trials"}

Twin = dict[str, Any]


class DemoRun:
    """One run of the demo case in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        _clear(folder)
        self._place = Workplace(folder / "cases.db", None, as_json=False)

    @cached_property
    def _scenario(self) -> Twin:
        return demo_scenario()

    @cached_property
    def _readings(self) -> Twin:
        return demo_readings()

    def open(self) -> Twin:
        """Open the case and return its twin."""
        case = self._place.desk.open(*demo_events())
        return state_twin(case, self._place.state())

    def steps(self) -> Iterator[Twin]:
        """Do what is advised until the repair is proven; yield each step with what it did."""
        for _ in range(_MOST_STEPS):
            action = self._advised()
            if action.kind == "close":
                return
            yield from self._harness(action)
            if action.advice is not None and action.advice.best.kind == "repair":
                yield from self._repair(action)
            else:
                yield self._test(action)
        raise InputError("the demo case does not come to an end: the advice and the scenario do not fit")

    def finish(self, paper: Paper) -> Twin:
        """Close the case, write its report and return what it came to."""
        self._place.record(made(Closed, proven=True))
        files = write_report(self._place, self._folder, paper)
        state = self._place.state()
        return {
            "case": state_twin(self._place.case, state),
            "files": [str(file) for file in files],
            "closing": " ".join(self._scenario["closing"].split()),
        }

    def _advised(self) -> NextAction:
        state = self._place.state()
        action = next_action(believe(self._place.model(state), state), state)
        event = advice_event(action)
        if event is not None:
            self._place.record(event)
        return action

    def _harness(self, action: NextAction) -> Iterator[Twin]:
        state = self._place.state()
        for connector in action.connectors:
            seen = self._readings["harness"][connector]
            event = harness_event(state, connector, seen)
            yield self._told(action, self._place.record(event), harness=True)

    def _test(self, action: NextAction) -> Twin:
        if action.advice is None:
            raise InputError("the demo case has nothing left to advise")
        best = action.advice.best
        if best.kind == "measure":
            return self._measured(best.name, "before", action)
        kind = SEEN_AS[best.kind]
        answer = self._readings[_PLURALS[kind]].get(best.name, {}).get("before")
        if answer is None:
            return self._told(action, self._place.record(made(CannotDo, name=best.name, because="not in the scenario")))
        return self._told(action, self._place.record(made(OutcomeNoted, what=kind, name=best.name, outcome=answer)))

    def _measured(self, name: str, when: str, action: NextAction | None) -> Twin:
        state = self._place.state()
        answer = self._readings["measurements"].get(name, {}).get(when)
        if answer is None:
            return self._told(action, self._place.record(made(CannotDo, name=name, because="not in the scenario")))
        return self._told(action, self._place.record(reading_event(state, name, answer["shown"])))

    def _repair(self, action: NextAction) -> Iterator[Twin]:
        """Repair what is advised, take the telling readings again, and prove it."""
        if action.advice is None:
            return
        suspect, truth = action.advice.best.name, self._scenario["repair"]
        state = self._place.state()
        self._place.record(accept(believe(self._place.model(state), state), state, suspect, ""))
        right = suspect == truth["suspect"]
        real = {key: truth[key] for key in ("minutes", "parts", "note")} if right else {}
        yield self._told(action, self._place.record(made(RepairNoted, suspect=suspect, **real)))
        when = "after" if right else "before"
        for name in self._telling():
            yield self._measured(name, when, None)
        outcome = self._readings["behaviours"][state.circuit.proof][when]
        yield self._told(None, self._place.record(prove(self._place.state(), outcome)))

    def _telling(self) -> list[str]:
        """Return the measurement taken last before the repair, to be taken again after it."""
        taken = [e.event.measurement for e in self._place.state().entries if isinstance(e.event, ReadingNoted)]
        return taken[-1:]

    def _told(self, action: NextAction | None, done: Recorded, *, harness: bool = False) -> Twin:
        twin: Twin = {"done": effect_twin(self._place, done), "advice": None}
        if action is not None and action.advice is not None and not harness:
            twin["advice"] = next_twin(self._place.case, done.before, action)["advice"]["best"]
        return twin


def _clear(folder: Path) -> None:
    """Remove the files of an earlier demo from its folder, and nothing else."""
    for pattern in ("cases.db", "cases.db-wal", "cases.db-shm", "case-1.html", "case-1.pdf"):
        try:
            (folder / pattern).unlink(missing_ok=True)
        except OSError as error:
            raise InputError(
                f"{folder / pattern}: an earlier demo stands in the way ({error.strerror}); give another -o"
            ) from error
