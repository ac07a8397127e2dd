"""From a case to what its report says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from proveout.cases.answers import complaint_told
from proveout.cases.case_state import CaseState
from proveout.cases.events import Closed, FindingAccepted, RepairNoted
from proveout.cases.history import HistoryRow, believe, histories
from proveout.cases.model_cache import meter_of
from proveout.cases.names import find_step, outcomes_of
from proveout.cases.repair_work import suspect_of
from proveout.cases.store import StoredEvent
from proveout.cases.work_text import work_text
from proveout.circuits.colours import colour_text, parse_colours
from proveout.circuits.harness import expected_cavities
from proveout.diagnosis import Belief, Model
from proveout.diagnosis.advice import CONCLUDED
from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.doubt import POORLY
from proveout.reports.case_cautions import cautions_kept
from proveout.reports.case_evidence import belief_course, evidence_rows, written_time
from proveout.reports.report_data import CostRow, Fact, HarnessRow, ProofRow, ReportData
from proveout.reports.schematic import draw_schematic

__all__ = ["report_data"]

_UNSETTLED = 0.02  # probability from which another suspect, or another fault of the same one, is worth a sentence


def report_data(case: int, state: CaseState, events: Sequence[StoredEvent], model: Model) -> ReportData:
    """Return everything that the report of a case says.

    Parameters
    ----------
    case : int
    state : CaseState
    events : sequence of StoredEvent
        All of them as they were stored, corrected ones included.
    model : Model
        The compiled circuit of the case.
    """
    rows = histories(model, state)
    belief = believe(model, state)
    opened = state.opened
    return ReportData(
        case=str(case),
        order=opened.order,
        shop=opened.shop,
        technician=opened.technician,
        customer=opened.customer,
        opened=written_time(state.opened_at),
        closed=_closed(state),
        vehicle=_vehicle(state),
        circuit=state.circuit.title,
        meter=meter_of(state).name,
        concern=_concern(state),
        cause=_cause(state, belief),
        cause_note=_cause_note(state, rows_used=sum(row.consequence is not None for row in rows)),
        correction=_correction(state),
        repaired=_repaired(state),
        codes=opened.codes,
        schematic=draw_schematic(state.circuit, fault=_fault_reference(state, belief) or None),
        evidence=evidence_rows(rows, state, events),
        belief=belief_course(rows, Belief.start(belief.model).suspects(), state.circuit, CONCLUDED),
        costs=_costs(state),
        labour_rate=opened.labour_rate,
        currency=opened.currency,
        authorised_minutes=opened.authorised_minutes,
        authorised_money=opened.authorised_money,
        cautions=cautions_kept(state),
        proofs=_proofs(state),
        harness=_harness(state),
        unproven=_unproven(state, belief, rows),
        invented=opened.invented,
        record=f"{len(events)} events, last seal {events[-1].seal}",
    )


def _named(state: CaseState) -> str:
    """Return the suspect that the report calls the cause: proven, else repaired, else accepted, else nothing."""
    if state.proofs and state.proofs[-1].cured:
        return state.proofs[-1].suspect
    if state.repair is not None:
        return state.repair.suspect
    return state.finding.suspect if state.finding is not None else ""


def _fault_reference(state: CaseState, belief: Belief) -> str:
    """Return the fault that the schematic marks: the one of the cause where it is settled, and never two at once."""
    name = _named(state)
    return belief.settled_fault(name) if name in belief.model.suspect_index and "+" not in name else ""


def _cause(state: CaseState, belief: Belief) -> str:
    name = _named(state)
    if not name:
        return ""
    title = suspect_of(state.circuit, name).title
    faults = belief.likely_faults(name) if name in belief.model.suspect_index else ""
    if not faults:
        return title
    return faults if belief.settled_fault(name) else f"{title}. Which fault of it is not settled: {faults}"


def _cause_note(state: CaseState, *, rows_used: int) -> str:
    if not _named(state):
        return ""
    proven = state.phase in ("proven", "closed") and bool(state.proofs) and state.proofs[-1].cured
    parts = ["Proven: the vehicle behaves after the repair" if proven else "Not proven yet"]
    if state.finding is not None:
        parts.append(f"probability {chance_text(state.finding.probability)} when it was taken as the cause")
        parts += [state.finding.because] if state.finding.because else []
    parts.append(f"carried by {rows_used} pieces of evidence")
    return "; ".join(parts) + "."


def _correction(state: CaseState) -> str:
    return _then([_noted(suspect_of(state.circuit, r.suspect).repair.title, r.note) for r in _repairs(state)])


def _repaired(state: CaseState) -> str:
    """Return what was repaired, by the names of the things: for those who did not do it."""
    return _then([_noted(suspect_of(state.circuit, r.suspect).title, r.note) for r in _repairs(state)])


def _repairs(state: CaseState) -> list[RepairNoted]:
    return [e.event for e in state.entries if isinstance(e.event, RepairNoted) and not e.problem]


def _noted(what: str, note: str) -> str:
    return f"{what}. Note of the technician: {note.rstrip('.')}" if note else what


def _then(done: Sequence[str]) -> str:
    return ". Then: ".join(done)


def _concern(state: CaseState) -> str:
    told = [state.opened.concern] if state.opened.concern else []
    told += complaint_told(state.opened.complaint, state.circuit)
    return ". ".join(text.rstrip(".") for text in told) + ("." if told else "")


def _vehicle(state: CaseState) -> tuple[Fact, ...]:
    vehicle = state.opened.vehicle
    name = " ".join(str(part) for part in (vehicle.year, vehicle.make, vehicle.model) if part)
    facts = [
        ("Vehicle", name),
        ("Engine", vehicle.engine),
        ("Identification number", vehicle.identification),
        ("Plate", vehicle.plate),
        ("Distance", vehicle.distance),
    ]
    return tuple(Fact(label, value) for label, value in facts if value)


def _closed(state: CaseState) -> str:
    return next((written_time(e.at) for e in reversed(state.entries) if isinstance(e.event, Closed)), "")


def _costs(state: CaseState) -> tuple[CostRow, ...]:
    return tuple(
        CostRow(
            what=_work(state, entry.number),
            minutes=entry.minutes,
            parts=entry.parts,
            planned_minutes=entry.planned_minutes,
            planned_parts=entry.planned_parts,
        )
        for entry in state.entries
        if entry.minutes or entry.parts or entry.planned_minutes
    )


def _work(state: CaseState, number: int) -> str:
    entry = next(entry for entry in state.entries if entry.number == number)
    access = [state.circuit.access[name].title for name in entry.opened]
    return work_text(entry.event, state.circuit) + (f" (with: {'; '.join(access)})" if access else "")


def _proofs(state: CaseState) -> tuple[ProofRow, ...]:
    rows = []
    for proof in state.proofs:
        step = find_step(state.circuit, proof.behaviour, ("watch",))
        titles = outcomes_of(state.circuit, step)
        before = titles.get(proof.before, proof.before) or "not noted"
        rows.append(ProofRow(step.title, before, titles[proof.after], proof.cured))
    return tuple(rows)


def _harness(state: CaseState) -> tuple[HarnessRow, ...]:
    rows = []
    for connector, seen in state.seen.items():
        for item in expected_cavities(state.circuit, connector):
            text = seen.get(item.cavity)
            if text is None:
                continue
            found = () if text in ("", "-") else parse_colours(text)
            shown = colour_text(found) or "no wire"
            agrees = not item.colours or item.accepts(found)
            rows.append(HarnessRow(connector, item.cavity, colour_text(item.colours) or "-", shown, agrees))
    return tuple(rows)


def _unproven(state: CaseState, belief: Belief, rows: Sequence[HistoryRow]) -> tuple[str, ...]:
    told = []
    if state.phase == "repaired":
        told.append("The repair has been done and its proof is still to come.")
    elif not (state.proofs and state.proofs[-1].cured):
        told.append("No repair has been proven in this case.")
        leading = [o for o in belief.suspects()[:5] if _open(o.probability)]
        told += [f"Not ruled out: {o.title} ({chance_text(o.probability)})." for o in leading]
    named = _named(state)
    within = belief.faults_within(named) if named in belief.model.suspect_index else ()
    others = [f"{title} ({chance_text(share)})" for _, title, share in within if _open(share)]
    if len(others) > 1:
        told.append(f"The evidence does not settle which fault of it was there: {'; '.join(others[:4])}.")
    told += [*_without_finding(state, rows), *_doubts(state, belief)]
    told += [f"Entry {entry.number} does not count: {entry.problem}" for entry in state.uncounted]
    return tuple(told)


def _without_finding(state: CaseState, rows: Sequence[HistoryRow]) -> Iterator[str]:
    """Yield a sentence for each repair made on a guess: no accepted finding, and not probable enough for one."""
    found: set[str] = set()
    chances: dict[str, float] = {}
    for row in rows:
        event = row.entry.event
        if row.entry.problem:
            continue
        if isinstance(event, FindingAccepted):
            found.add(suspect_of(state.circuit, event.suspect).name)
        if isinstance(event, RepairNoted):
            suspect = suspect_of(state.circuit, event.suspect)
            chance = chances.get(suspect.name, 0.0)
            if suspect.name not in found and chance < CONCLUDED:
                then = chance_text(chance)
                yield f"Repaired without an accepted finding: {suspect.title}; its probability was {then} then."
        chances = {opinion.suspect: opinion.probability for opinion in row.suspects}


def _doubts(state: CaseState, belief: Belief) -> Iterator[str]:
    """Yield what stayed doubtful in the evidence itself."""
    for name in sorted(belief.doubtful):
        yield f"The reading '{state.circuit.measurements[name].title}' was doubted and not taken again for the finding."
    if belief.explained < POORLY:
        yield "No explanation fits the evidence well: a reading may be wrong, or the drawing."


def _open(chance: float) -> bool:
    return chance >= _UNSETTLED
