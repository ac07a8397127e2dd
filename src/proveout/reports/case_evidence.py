"""The evidence of a case, row by row, and the course of the belief over it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from proveout.cases.answers import answered
from proveout.cases.capture_text import fingerprint_text, levels_text
from proveout.cases.case_state import CaseState
from proveout.cases.corrections import fates
from proveout.cases.entry_text import entry_text
from proveout.cases.events import CaptureAttached, Opened, OutcomeNoted, ReadingNoted, RepairProven
from proveout.cases.history import HistoryRow, reading_of
from proveout.cases.names import find_step, outcomes_of
from proveout.cases.store import StoredEvent
from proveout.circuits.lead_words import lead_words
from proveout.circuits.schema import Circuit
from proveout.diagnosis.advice_model import Band, Opinion
from proveout.reports.capture_pictures import capture_pictures
from proveout.reports.reading_strip import ReadingStrip, StripBand
from proveout.reports.report_data import BeliefCourse, EvidenceRow

__all__ = ["belief_course", "evidence_rows", "written_time"]

_TOLD = (Opened, ReadingNoted, CaptureAttached, OutcomeNoted, RepairProven)


def written_time(at: datetime) -> str:
    """Return a time as a report writes it."""
    return at.astimezone(UTC).strftime("%Y-%m-%d %H:%M UTC")


def evidence_rows(
    rows: Sequence[HistoryRow], state: CaseState, events: Sequence[StoredEvent]
) -> tuple[EvidenceRow, ...]:
    """Return all that was read and seen, in order; what was corrected stands there too and does not count."""
    told = [_row(row, state) for row in rows if isinstance(row.entry.event, _TOLD)]
    changed = fates(events)
    struck = [
        _struck(stored, changed[stored.number].by, state.circuit)
        for stored in events
        if stored.number in changed and isinstance(stored.event, ReadingNoted | CaptureAttached | OutcomeNoted)
    ]
    return tuple(sorted([*told, *struck], key=lambda row: (row.number, row.counted)))


def belief_course(
    rows: Sequence[HistoryRow], start: Sequence[Opinion], circuit: Circuit, conclusion: float
) -> BeliefCourse:
    """Return the probability of each suspect at the start and after each piece of evidence."""
    told = [row for row in rows if row.consequence is not None]
    courses = tuple((o.title, (o.probability, *(_chance(row, o.suspect) for row in told))) for o in start)
    labels = ("start", *(f"entry {row.entry.number}: {_label(row, circuit)}" for row in told))
    return BeliefCourse(labels, courses, conclusion)


def _label(row: HistoryRow, circuit: Circuit) -> str:
    title, reading = _told(row.entry.event, circuit)
    return answered(title, reading)


def _chance(row: HistoryRow, suspect: str) -> float:
    return next(o.probability for o in row.suspects if o.suspect == suspect)


def _row(row: HistoryRow, state: CaseState) -> EvidenceRow:
    event, circuit = row.entry.event, state.circuit
    title, reading = _told(event, circuit) if not row.entry.problem else (entry_text(event, circuit), "")
    measured = isinstance(event, ReadingNoted | CaptureAttached) and not row.entry.problem
    return EvidenceRow(
        number=row.entry.number,
        when=written_time(row.entry.at),
        title=title,
        reading=reading,
        setup=_setup(event, circuit) if not row.entry.problem else "",
        leads=_leads(event, circuit) if measured else "",
        limit=row.limit.shown if row.limit else "",
        expected=row.expected.shown if row.expected else "",
        verdict=row.verdict,
        ruled_out=row.consequence.ruled_out if row.consequence else (),
        note=_note(row),
        counted=not row.entry.problem,
        complaint=isinstance(event, Opened),
        strip=_strip(row, title) if measured else None,
        pictures=_pictures(row, title),
    )


def _struck(stored: StoredEvent, by: int, circuit: Circuit) -> EvidenceRow:
    return EvidenceRow(
        number=stored.number,
        when=written_time(stored.at),
        title=entry_text(stored.event, circuit),
        reading=stored.event.shown if isinstance(stored.event, ReadingNoted) else "",
        note=f"corrected by entry {by}",
        counted=False,
    )


def _told(event: object, circuit: Circuit) -> tuple[str, str]:
    """Return what was done and what was read or seen."""
    if isinstance(event, ReadingNoted):
        return find_step(circuit, event.measurement, ("measure",)).title, event.shown
    if isinstance(event, CaptureAttached):
        return find_step(circuit, event.measurement, ("measure",)).title, levels_text(event, circuit) or event.name
    if isinstance(event, OutcomeNoted):
        step = find_step(circuit, event.name, ("look", "watch", "try"))
        return step.title, outcomes_of(circuit, step)[event.outcome]
    if isinstance(event, RepairProven):
        step = find_step(circuit, event.behaviour, ("watch",))
        return f"After the repair: {step.title}", outcomes_of(circuit, step)[event.after]
    if isinstance(event, Opened):
        told = [find_step(circuit, name, ("watch",)) for name in event.complaint]
        seen = [outcomes_of(circuit, step)[event.complaint[step.name]] for step in told]
        return "What the customer and the stored codes say", "; ".join([*seen, *event.codes])
    return "", ""


def _setup(event: object, circuit: Circuit) -> str:
    if isinstance(event, ReadingNoted | CaptureAttached):
        return circuit.setups[circuit.measurements[event.measurement].setup].title
    return ""


def _leads(event: object, circuit: Circuit) -> str:
    if not isinstance(event, ReadingNoted | CaptureAttached):
        return ""
    return lead_words(circuit, circuit.measurements[event.measurement])


def _note(row: HistoryRow) -> str:
    event = row.entry.event
    parts = [row.entry.problem, row.limit_note]
    parts += [event.note, fingerprint_text(event)] if isinstance(event, CaptureAttached) else []
    parts += ["after the repair: it shows the repair, not the fault"] if row.entry.held else []
    return "; ".join(part for part in parts if part)


def _strip(row: HistoryRow, title: str) -> ReadingStrip | None:
    taken = reading_of(row.entry)
    if taken is None or not taken.reading.taken:
        return None
    return ReadingStrip(
        title=f"{row.entry.number}  {title}",
        unit=taken.reading.unit,
        reading=taken.reading.value,
        shown=taken.reading.shown,
        sound=_band("sound", row.expected),
        limit=_band("manual", row.limit),
    )


def _pictures(row: HistoryRow, title: str) -> tuple[str, ...]:
    event = row.entry.event
    if not isinstance(event, CaptureAttached):
        return ()
    return capture_pictures(event, f"{row.entry.number}  {title}")


def _band(title: str, band: Band | None) -> StripBand | None:
    if band is None:
        return None
    return StripBand(title, band.low, band.high, over_limit=band.shown == "OL")
