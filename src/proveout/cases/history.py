"""What each step of a case did: its reading beside the limits, what it ruled out, and the belief after it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from proveout.cases.case_state import CaseState, Entry
from proveout.cases.events import CaptureAttached, ReadingNoted
from proveout.diagnosis import (
    Belief,
    Consequence,
    Model,
    consequence,
    explain_limit,
    limit_band,
    sound_band,
    with_pairs,
)
from proveout.diagnosis.advice_model import Band, Opinion
from proveout.diagnosis.evidence import ReadingTaken
from proveout.diagnosis.limits import within
from proveout.instruments import Reading

__all__ = ["Course", "HistoryRow", "believe", "course_of", "histories", "reading_of"]


@dataclass(frozen=True)
class HistoryRow:
    """One entry of a case with what it did to the belief.

    Attributes
    ----------
    limit, expected : Band or None
        For a reading: what the manual calls good, and what a sound vehicle of this sheet would show.
    verdict : str
        `good` or `bad` by the manual's limit, by the computed band where the manual says nothing; else empty.
    limit_note : str
        Why the manual's limit and the computed band judge this reading differently; empty where they agree.
    consequence : Consequence or None
        None where the entry is no evidence.
    suspects : tuple of Opinion
        After the entry.
    explained : float
        Predictive p-value of the best explanation after the entry.
    """

    entry: Entry
    limit: Band | None
    expected: Band | None
    verdict: Literal["good", "bad", ""]
    limit_note: str
    consequence: Consequence | None
    suspects: tuple[Opinion, ...]
    explained: float


def believe(model: Model, state: CaseState) -> Belief:
    """Return the belief after all that the case has learnt, with pairs of faults where one fault explains it poorly."""
    belief = Belief.start(model)
    for evidence in state.evidence:
        belief = belief.after(evidence)
    return with_pairs(belief)


@dataclass(frozen=True)
class Course:
    """A case's belief from its first entry to its last.

    Attributes
    ----------
    single : Belief
        After all entries, of single faults only.
    belief : Belief
        With pairs of faults where one fault explains the evidence poorly.
    rows : tuple of HistoryRow
        All over the hypotheses of `belief`.
    """

    single: Belief
    belief: Belief
    rows: tuple[HistoryRow, ...]


def course_of(model: Model, state: CaseState, before: Course | None = None) -> Course:
    """Return the course of a case; where `before` is its beginning, only what came since is computed."""
    known = before.rows if before is not None else ()
    goes_on = len(known) <= len(state.entries) and all(
        row.entry is entry for row, entry in zip(known, state.entries, strict=False)
    )
    if before is None or not goes_on or before.single.model is not model:
        single, rows = Belief.start(model), []
    else:
        single, rows = before.single, list(known)
    paired = before is not None and before.belief.model is not before.single.model
    for entry in state.entries[len(rows) :]:
        after = single
        for evidence in entry.evidence:
            after = after.after(evidence)
        rows.append(_row(model, entry, single, after))
        single = after
    belief = with_pairs(single)
    if paired or belief.model is not single.model:
        return Course(single, belief, histories(model, state))
    return Course(single, belief, tuple(rows))


def histories(model: Model, state: CaseState) -> tuple[HistoryRow, ...]:
    """Return a row for each entry of the case, in order, all over the hypotheses of the belief at the end."""
    belief, rows = Belief.start(believe(model, state).model), []
    for entry in state.entries:
        after = belief
        for evidence in entry.evidence:
            after = after.after(evidence)
        rows.append(_row(model, entry, belief, after))
        belief = after
    return tuple(rows)


def _row(model: Model, entry: Entry, before: Belief, after: Belief) -> HistoryRow:
    done = consequence(before, after) if entry.evidence else None
    row = HistoryRow(entry, None, None, "", "", done, after.suspects(), after.explained)
    taken = reading_of(entry)
    if taken is None or entry.problem:
        return row
    limit, expected = limit_band(model, taken.measurement), sound_band(model, taken.measurement)
    note = explain_limit(model, before, taken.measurement, taken.reading)
    return HistoryRow(
        entry, limit, expected, _verdict(taken.reading, limit or expected), note, done, row.suspects, row.explained
    )


def reading_of(entry: Entry) -> ReadingTaken | None:
    """Return the reading of an entry: as noted, or the level of a recorded signal at its measurement."""
    event = entry.event
    if isinstance(event, ReadingNoted):
        return ReadingTaken(event.measurement, event.reading, event.disturbed)
    if not isinstance(event, CaptureAttached):
        return None
    taken = (e for e in (*entry.evidence, *entry.held) if isinstance(e, ReadingTaken))
    return next((e for e in taken if e.measurement == event.measurement), None)


def _verdict(reading: Reading, good: Band) -> Literal["good", "bad", ""]:
    if not reading.taken:
        return ""
    return "good" if within(good, reading.value, reading.over_limit) else "bad"
