"""A case as it stands: everything derived from its events, for faces to show and for the planner to go on from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Literal

from proveout.cases.events import (
    AdviceShown,
    Closed,
    Event,
    FindingAccepted,
    Opened,
    RepairNoted,
    RepairProven,
    VehicleNoted,
)
from proveout.circuits.harness import HarnessComparison, compare_harness
from proveout.circuits.schema import Circuit
from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.evidence import Evidence

__all__ = ["CaseState", "Entry", "Phase"]

Phase = Literal["testing", "repaired", "proven", "closed"]


@dataclass(frozen=True)
class Entry:
    """One event that counts, with what it meant.

    Attributes
    ----------
    number, at : int, datetime
        Its place in the case and its time (UTC).
    minutes, parts : float
        Spent on it: planned times with access and set-up, or the real ones where they were noted; parts in the shop's
        money.
    planned_minutes, planned_parts : float
        What the circuit plans for it.
    opened : tuple of str
        Access operations that were done for it.
    setup : str
        Set-up the vehicle was brought into for it; empty when it was there already.
    evidence : tuple
        What the belief learns from it.
    held : tuple
        What it would be evidence of, had the vehicle not been repaired by then; it shows the repair instead.
    problem : str
        Why it does not count, although it stands in the record; empty when it counts.
    """

    number: int
    at: datetime
    event: Event
    minutes: float = 0.0
    parts: float = 0.0
    planned_minutes: float = 0.0
    planned_parts: float = 0.0
    opened: tuple[str, ...] = ()
    setup: str = ""
    evidence: tuple[Evidence, ...] = ()
    held: tuple[Evidence, ...] = ()
    problem: str = ""


@dataclass(frozen=True)
class CaseState:
    """What follows from the events of a case.

    Attributes
    ----------
    circuit : Circuit
        The one chosen last; all entries are read with it.
    text : str
        Text of its file.
    seen : mapping
        Connector: cavity: colours seen at the harness check.
    repair : RepairNoted or None
        Done and not proven yet.
    proofs : tuple of RepairProven
    advised : AdviceShown or None
        What was advised last.
    waiting : VehicleNoted or None
        The vehicle is waited for; work on it ends that.
    """

    opened: Opened
    opened_at: datetime
    circuit: Circuit
    text: str
    entries: tuple[Entry, ...] = ()
    access: frozenset[str] = frozenset()
    setup: str | None = None
    seen: Mapping[str, Mapping[str, str]] = field(default_factory=lambda: MappingProxyType({}))
    cannot: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    finding: FindingAccepted | None = None
    repair: RepairNoted | None = None
    proofs: tuple[RepairProven, ...] = ()
    advised: AdviceShown | None = None
    closed: Closed | None = None
    waiting: VehicleNoted | None = None

    @property
    def phase(self) -> Phase:
        """Where the case is."""
        if self.closed is not None:
            return "closed"
        if self.repair is not None:
            return "repaired"
        return "proven" if self.proofs and self.proofs[-1].cured else "testing"

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        """Everything the belief learns from, in order."""
        return tuple(piece for entry in self.entries for piece in entry.evidence)

    @property
    def minutes(self) -> float:
        """Working minutes spent."""
        return sum(entry.minutes for entry in self.entries)

    @property
    def parts(self) -> float:
        """Parts used, in the shop's money."""
        return sum(entry.parts for entry in self.entries)

    @property
    def labour(self) -> float:
        """Money of the minutes spent."""
        return self.minutes * self.opened.labour_rate / 60.0

    @property
    def harness(self) -> Mapping[str, HarnessComparison]:
        """The comparison of each connector that was looked at with the sheet as it is now."""
        return {name: compare_harness(self.circuit, name, seen) for name, seen in self.seen.items()}

    @property
    def mismatched(self) -> frozenset[str]:
        """Connectors whose colours disagree with the sheet."""
        return frozenset(name for name, found in self.harness.items() if not found.agrees)

    @property
    def uncounted(self) -> tuple[Entry, ...]:
        """Entries that stand in the record and do not count, each with its problem."""
        return tuple(entry for entry in self.entries if entry.problem)

    @property
    def shop(self) -> Shop:
        """What the planner needs to know of the workshop and the vehicle."""
        minutes, money = self.opened.authorised_minutes, self.opened.authorised_money
        return Shop(
            labour_rate=self.opened.labour_rate,
            wrong_repair=self.opened.wrong_repair,
            opened=self.access,
            setup=self.setup,
            blocked=self.mismatched,
            cannot=frozenset(self.cannot),
            minutes_left=None if minutes is None else minutes - self.minutes,
            money_left=None if money is None else money - self.labour - self.parts,
            currency=self.opened.currency,
        )
