"""The words of a report, the same for the page and for the print: every number formatted, every sentence made."""

from __future__ import annotations

import re
from typing import TypedDict

import numpy as np

from proveout.diagnosis.money import money_text
from proveout.reports.belief_plot import draw_belief
from proveout.reports.reading_strip import draw_reading_strip
from proveout.reports.report_data import CostRow, EvidenceRow, ReportData
from proveout.reports.safe_svg import checked_svg
from proveout.reports.svg import clean

__all__ = ["INVENTED", "MAKER_FIRST", "View", "view"]

MAKER_FIRST = (
    "The vehicle maker's procedure, local codes and licensed practice come first. This report shows what was measured "
    "on this vehicle and what follows from it; it replaces none of them."
)
INVENTED = "Invented for demonstration: vehicle, workshop, names, prices and readings are made up."
_ANSWER = re.compile(r"\?:? ([a-z])")
NOT_KNOWN = "not known yet"


class EvidenceView(TypedDict):
    """One row of the table of evidence."""

    number: str
    when: str
    title: str
    where: str
    reading: str
    limit: str
    expected: str
    verdict: str
    ruled_out: list[str]
    note: str
    counted: bool


class CostView(TypedDict):
    """One row of the table of minutes and money."""

    what: str
    planned_minutes: str
    minutes: str
    planned_money: str
    labour: str
    parts: str
    money: str


class View(TypedDict):
    """Everything a template needs."""

    title: str
    subtitle: str
    invented: str
    maker_first: str
    concern: str
    codes: str
    cause: str
    cause_note: str
    correction: str
    facts: list[list[str]]
    proofs: list[list[str]]
    schematic: str
    evidence: list[EvidenceView]
    strips: list[str]
    recordings: list[str]
    belief: str
    costs: list[CostView]
    total: CostView | None
    authorised: str
    rate: str
    cautions: list[list[str]]
    harness: list[list[str]]
    harness_agrees: bool
    unproven: list[str]
    plain: list[str]
    customer: str
    record: str


def view(data: ReportData) -> View:
    """Return the words of a report.

    Raises
    ------
    InputError
        If the schematic is not a plain drawing, or the course of belief does not fit its steps.
    """
    return {
        "title": clean(data.shop or "Diagnostic report"),
        "subtitle": clean(_subtitle(data)),
        "invented": INVENTED if data.invented else "",
        "maker_first": MAKER_FIRST,
        "concern": clean(data.concern or "none recorded"),
        "codes": clean(", ".join(data.codes)),
        "cause": clean(data.cause or NOT_KNOWN),
        "cause_note": clean(data.cause_note),
        "correction": clean(data.correction or "nothing repaired yet"),
        "facts": [[clean(f), clean(v)] for f, v in _facts(data) if v],
        "proofs": [[clean(p.behaviour), clean(p.before), clean(p.after), _cured(p.cured)] for p in data.proofs],
        "schematic": checked_svg(data.schematic) if data.schematic else "",
        "evidence": [_evidence(row) for row in data.evidence],
        "strips": [draw_reading_strip(row.strip) for row in data.evidence if row.strip is not None],
        "recordings": [picture for row in data.evidence for picture in row.pictures],
        "belief": _belief(data),
        "costs": [_cost(row, data) for row in data.costs],
        "total": _total(data),
        "authorised": clean(_authorised(data)),
        "rate": clean(f"{_money(data.labour_rate, data)} an hour") if data.labour_rate else "",
        "cautions": [[clean(c.text), clean(c.before)] for c in data.cautions],
        "harness": [
            [clean(h.connector), clean(h.cavity), clean(h.sheet), clean(h.seen), "agrees" if h.agrees else "DIFFERS"]
            for h in data.harness
        ],
        "harness_agrees": all(h.agrees for h in data.harness),
        "unproven": [clean(sentence) for sentence in data.unproven],
        "plain": [clean(paragraph) for paragraph in data.plain or _plain(data)],
        "customer": clean(data.customer),
        "record": clean(data.record),
    }


def _subtitle(data: ReportData) -> str:
    parts = [f"Diagnostic report, case {data.case}", f"job {data.order}" if data.order else "", data.opened]
    return ", ".join(part for part in parts if part)


def _facts(data: ReportData) -> list[tuple[str, str]]:
    head = [(fact.label, fact.value) for fact in data.vehicle]
    head += [("Customer", data.customer), ("Technician", data.technician), ("Opened", data.opened)]
    head += [("Closed", data.closed), ("Circuit", data.circuit), ("Meter", data.meter)]
    return head


def _cured(cured: bool) -> str:
    return "cured" if cured else "not cured"


def _evidence(row: EvidenceRow) -> EvidenceView:
    return {
        "number": str(row.number),
        "when": clean(row.when),
        "title": clean(row.title),
        "where": clean("; ".join(part for part in (row.setup, row.leads) if part)),
        "reading": clean(row.reading),
        "limit": clean(row.limit),
        "expected": clean(row.expected),
        "verdict": row.verdict if row.counted else "does not count",
        "ruled_out": [clean(title) for title in row.ruled_out],
        "note": clean(row.note),
        "counted": row.counted,
    }


def _belief(data: ReportData) -> str:
    if data.belief is None:
        return ""
    suspects = {title: np.array(shares, dtype=float) for title, shares in data.belief.suspects}
    return draw_belief(data.belief.labels, suspects, conclusion=data.belief.conclusion)


def _money(amount: float, data: ReportData) -> str:
    return money_text(amount, data.currency)


def _minutes(minutes: float) -> str:
    return f"{minutes:,.1f}".removesuffix(".0") + " min"


def _labour(minutes: float, data: ReportData) -> float:
    return minutes * data.labour_rate / 60.0


def _cost(row: CostRow, data: ReportData) -> CostView:
    planned = row.planned_minutes is not None or row.planned_parts is not None
    planned_money = _labour(row.planned_minutes or 0.0, data) + (row.planned_parts or 0.0)
    return {
        "what": clean(row.what),
        "planned_minutes": _minutes(row.planned_minutes) if row.planned_minutes is not None else "",
        "minutes": _minutes(row.minutes),
        "planned_money": clean(_money(planned_money, data)) if planned else "",
        "labour": clean(_money(_labour(row.minutes, data), data)),
        "parts": clean(_money(row.parts, data)) if row.parts else "",
        "money": clean(_money(_labour(row.minutes, data) + row.parts, data)),
    }


def _total(data: ReportData) -> CostView | None:
    if not data.costs:
        return None
    planned = [row for row in data.costs if row.planned_minutes is not None or row.planned_parts is not None]
    total = CostRow(
        "Together",
        sum(row.minutes for row in data.costs),
        sum(row.parts for row in data.costs),
        sum(row.planned_minutes or 0.0 for row in planned) if planned else None,
        sum(row.planned_parts or 0.0 for row in planned) if planned else None,
    )
    return _cost(total, data)


def _authorised(data: ReportData) -> str:
    parts = [_minutes(data.authorised_minutes)] if data.authorised_minutes is not None else []
    parts += [_money(data.authorised_money, data)] if data.authorised_money is not None else []
    return " and ".join(parts)


def _plain(data: ReportData) -> list[str]:
    """Return the customer's page made from the other fields, in words that need no training."""
    found = [f"You told us: {_answers(data.concern or 'nothing was noted')}"]
    if data.cause:
        found.append(f"What we found: {_sentence(data.cause)}")
        count = sum(row.counted and not row.complaint for row in data.evidence)
        kind = "readings and looks" if count > 1 else "reading or look"
        if count:
            found.append(f"How we know: we took {count} {kind} on your vehicle, listed in this report.")
    else:
        found.append("What we found: the cause is not proven yet.")
    if data.repaired:
        found.append(f"Repaired: {_sentence(data.repaired)}")
    elif data.correction:
        found.append(f"What we did: {_sentence(data.correction)}")
    found += [_proof_words(data)] if data.proofs else []
    total = _total(data)
    if total is not None:
        parts = f", parts {total['parts']}" if total["parts"] else ""
        found.append(f"What it took: {total['minutes']} of work ({total['labour']}){parts}; together {total['money']}.")
    if data.unproven:
        found.append("What we cannot promise: " + " ".join(_sentence(s) for s in data.unproven))
    return found


def _proof_words(data: ReportData) -> str:
    last = data.proofs[-1]
    before = f" Before the repair: {_sentence(last.before)}" if last.before else ""
    worked = "The repair worked." if last.cured else "The fault is not cured yet."
    checked = f"How we checked the repair: {_sentence(last.behaviour)}"
    return f"{checked}{before} After it: {_sentence(last.after)} {worked}"


def _answers(text: str) -> str:
    """Return a sentence in which the answer behind a question mark begins with a capital."""
    return _sentence(_ANSWER.sub(lambda found: f"? {found[1].upper()}", text))


def _sentence(text: str) -> str:
    text = text.strip()
    return text if text.endswith((".", "!", "?")) else f"{text}."
