"""A case as the pages show it: its events, its state, the belief, the advice, each computed once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from threading import Event
from typing import Any

from proveout.cases.case_state import CaseState
from proveout.cases.events import AdviceShown
from proveout.cases.history import Course, course_of
from proveout.cases.next_action import NextAction, next_action
from proveout.cases.store import StoredEvent
from proveout.diagnosis import Belief, Model

__all__ = ["Standing", "last_entry"]

ALTERNATIVES = 5
# What advice that was merely shown does not change.
_UNCHANGED = frozenset({"model", "action", "described"})


@dataclass(frozen=True)
class Standing:
    """A case after its last event; what takes time is computed when it is first asked for."""

    number: int
    events: tuple[StoredEvent, ...]
    state: CaseState
    compiled: Callable[[CaseState], Model]
    before: Course | None = None

    @cached_property
    def model(self) -> Model:
        """The compiled circuit."""
        return self.compiled(self.state)

    @cached_property
    def course(self) -> Course:
        """What each entry did, and the belief after all of them."""
        return course_of(self.model, self.state, self.before)

    @cached_property
    def described(self) -> dict[str, dict[str, Any]]:
        """Steps that were chosen out of order, by `kind.name`, as they were described."""
        return {}

    @property
    def belief(self) -> Belief:
        """The belief after everything that was learnt."""
        return self.course.belief

    @cached_property
    def action(self) -> NextAction:
        """What to do next."""
        return next_action(self.belief, self.state, alternatives=ALTERNATIVES)

    @cached_property
    def shown(self) -> Event:
        """Set once the advice was shown to somebody."""
        return Event()

    @property
    def last(self) -> int:
        """Number of the last event that a person caused; what was merely shown does not make a window stale."""
        return last_entry(self.events)

    def after(self, events: tuple[StoredEvent, ...], state: CaseState) -> Standing:
        """Return the case after more events; what they do not change is kept."""
        found = Standing(self.number, events, state, self.compiled, self.__dict__.get("course", self.before))
        added = events[len(self.events) :]
        if state.circuit is self.state.circuit and all(isinstance(e.event, AdviceShown) for e in added):
            found.__dict__.update({name: known for name, known in self.__dict__.items() if name in _UNCHANGED})
        return found


def last_entry(events: Sequence[StoredEvent]) -> int:
    """Return the number of the last event that is more than advice shown."""
    return max(stored.number for stored in events if not isinstance(stored.event, AdviceShown))
