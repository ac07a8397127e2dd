"""A case as the pages show it: its events, its state, the belief, the advice, each computed once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from proveout.cases.case import replay
from proveout.cases.case_state import CaseState
from proveout.cases.events import AdviceShown
from proveout.cases.history import HistoryRow, believe, histories
from proveout.cases.next_action import NextAction, next_action
from proveout.cases.store import StoredEvent
from proveout.diagnosis import Belief, Model

__all__ = ["Standing", "stand"]

ALTERNATIVES = 5


@dataclass(frozen=True)
class Standing:
    """A case after its last event; what takes time is computed when it is first asked for."""

    number: int
    events: tuple[StoredEvent, ...]
    state: CaseState
    compiled: Callable[[CaseState], Model]

    @cached_property
    def model(self) -> Model:
        """The compiled circuit."""
        return self.compiled(self.state)

    @cached_property
    def belief(self) -> Belief:
        """The belief after everything that was learnt."""
        return believe(self.model, self.state)

    @cached_property
    def action(self) -> NextAction:
        """What to do next."""
        return next_action(self.belief, self.state, alternatives=ALTERNATIVES)

    @cached_property
    def history(self) -> tuple[HistoryRow, ...]:
        """What each entry did."""
        return histories(self.model, self.state)

    @property
    def last(self) -> int:
        """Number of the last event that a person caused; what was merely shown does not make a window stale."""
        return max(e.number for e in self.events if not isinstance(e.event, AdviceShown))


def stand(
    number: int, events: tuple[StoredEvent, ...], compiled: Callable[[CaseState], Model], before: Standing | None
) -> Standing:
    """Return a case as it stands after `events`; `before` is what was known of it earlier."""
    found = Standing(number, events, replay(events), compiled)
    if before is not None and _only_shown(before, events):
        # Nothing was learnt since: belief, advice and history hold.
        for name in ("model", "belief", "action", "history"):
            if name in before.__dict__:
                found.__dict__[name] = before.__dict__[name]
    return found


def _only_shown(before: Standing, events: tuple[StoredEvent, ...]) -> bool:
    known = len(before.events)
    return events[:known] == before.events and all(isinstance(e.event, AdviceShown) for e in events[known:])
