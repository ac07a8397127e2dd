"""The end of a practice: what the fault was, and the apprentice's path beside the planner's on the same vehicle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proveout.cases.case_state import CaseState
from proveout.cases.entry_text import entry_text
from proveout.cases.events import CircuitChosen, Closed, Opened, RepairNoted
from proveout.cases.history import HistoryRow, histories
from proveout.diagnosis.severity_text import severity_span, severity_unit
from proveout.practice.hidden import HiddenVehicle
from proveout.practice.work import standing_of

__all__ = ["Ending", "Leg", "Path", "Truth", "path_of", "side_by_side", "truth_of"]


@dataclass(frozen=True)
class Truth:
    """The hidden fault, once it may be told."""

    reference: str
    title: str
    suspect: str
    suspect_title: str
    severity: str
    comes_and_goes: bool


@dataclass(frozen=True)
class Leg:
    """One step of a path.

    Attributes
    ----------
    text : str
        What was done and what it showed.
    minutes, money : float
        Of this step; money with its parts, in the shop's money.
    until : float [min]
        The clock when it is done.
    spent : float
        All money up to then.
    ruled_out : tuple of str
        Suspects that it ruled out.
    chance : float
        Probability of the suspect that is at fault, once the step is known.
    repaired : str
        Suspect that was repaired with it, else empty.
    """

    text: str
    minutes: float
    money: float
    until: float
    spent: float
    ruled_out: tuple[str, ...]
    chance: float
    repaired: str


@dataclass(frozen=True)
class Path:
    """All steps of one worker, and how it ended.

    `start` is the probability of the true suspect before anything was done, from the complaint alone. `found` says that
    the part at fault was repaired; where the vehicle was handed over without, it comes back, and `comeback` is the
    shop's price for that. `wrong` counts repairs that were not needed.
    """

    start: float
    legs: tuple[Leg, ...]
    minutes: float
    money: float
    found: bool
    comeback: float
    wrong: int

    @property
    def whole(self) -> float:
        """Money with the comeback."""
        return self.money + self.comeback


@dataclass(frozen=True)
class Ending:
    """What is told when the vehicle has been handed over."""

    truth: Truth
    own: Path
    planner: Path


def truth_of(vehicle: HiddenVehicle) -> Truth:
    """Return the hidden fault in words."""
    fault = vehicle.fault
    part = vehicle.individual.circuit.parts.get(fault.part)
    unit = severity_unit(part.kind if part else "bridge", fault.mode)
    graded = fault.mode.forced is None and fault.mode.low < fault.mode.high
    severity = severity_span(vehicle.severity, vehicle.severity, unit) if graded else ""
    return Truth(
        fault.reference, fault.title, vehicle.suspect.name, vehicle.suspect.title, severity, vehicle.comes_and_goes
    )


def path_of(state: CaseState, vehicle: HiddenVehicle) -> Path:
    """Return the path of a case that is about this vehicle."""
    rate, until, spent, legs = state.opened.labour_rate / 60.0, 0.0, 0.0, []
    rows = histories(vehicle.model, state)
    start = next((_chance(row, vehicle) for row in rows if isinstance(row.entry.event, Opened)), 0.0)
    for row in rows:
        if isinstance(row.entry.event, Opened | CircuitChosen | Closed) or row.entry.problem:
            continue
        money = row.entry.minutes * rate + row.entry.parts
        until, spent = until + row.entry.minutes, spent + money
        legs.append(_leg(state, row, vehicle, money, until, spent))
    found = standing_of(state, vehicle).mended
    comeback = 0.0 if found or state.closed is None else state.opened.wrong_repair
    return Path(start, tuple(legs), until, spent, found, comeback, sum(bool(leg.repaired) for leg in legs) - found)


def _leg(state: CaseState, row: HistoryRow, vehicle: HiddenVehicle, money: float, until: float, spent: float) -> Leg:
    event = row.entry.event
    return Leg(
        text=entry_text(event, state.circuit),
        minutes=row.entry.minutes,
        money=money,
        until=until,
        spent=spent,
        ruled_out=row.consequence.ruled_out if row.consequence else (),
        chance=_chance(row, vehicle),
        repaired=event.suspect if isinstance(event, RepairNoted) else "",
    )


def _chance(row: HistoryRow, vehicle: HiddenVehicle) -> float:
    """Return the probability of the true suspect, alone or as one of a pair."""
    return min(sum(o.probability for o in row.suspects if vehicle.suspect.name in o.suspect.split("+")), 1.0)


def side_by_side(own: Sequence[Leg], planner: Sequence[Leg]) -> tuple[tuple[float, Leg | None, Leg | None], ...]:
    """Return both paths on one clock: (minute at which a step is done, own step or None, planner's step or None)."""
    mine, theirs = [(leg.until, 0, leg) for leg in own], [(leg.until, 1, leg) for leg in planner]
    merged = sorted([*mine, *theirs], key=lambda item: item[:2])
    return tuple((until, leg if side == 0 else None, leg if side == 1 else None) for until, side, leg in merged)
