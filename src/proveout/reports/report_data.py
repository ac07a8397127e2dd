"""What a report says, as plain fields: everything is computed before it comes here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from proveout.reports.reading_strip import ReadingStrip

__all__ = [
    "BeliefCourse",
    "CautionKept",
    "CostRow",
    "EvidenceRow",
    "Fact",
    "HarnessRow",
    "ProofRow",
    "ReportData",
]


@dataclass(frozen=True)
class Fact:
    """One line of the head: what it is and its value."""

    label: str
    value: str


@dataclass(frozen=True)
class EvidenceRow:
    """One reading, look, behaviour or trial, with what it taught.

    Attributes
    ----------
    number : int
        Its number in the case record.
    when : str
        Time as it is to be written.
    title, setup, leads : str
        What was done, in which set-up, where the red and the black lead stood (empty where none).
    reading : str
        What was read or seen.
    limit, expected : str
        What the manual calls good, and what a sound vehicle of this sheet would show; empty where unknown.
    verdict : 'good', 'bad' or ''
    ruled_out : tuple of str
        Suspects that it ruled out.
    note : str
        A doubt, a correction, why limit and computed band disagree.
    counted : bool
        False for an entry that stands in the record and was corrected or does not count.
    complaint : bool
        Whether it is what the customer and the stored codes said, and so no reading of the workshop.
    strip : ReadingStrip or None
        The reading on its scale.
    pictures : tuple of str
        Drawings (SVG) of a recorded signal.
    """

    number: int
    when: str
    title: str
    reading: str
    setup: str = ""
    leads: str = ""
    limit: str = ""
    expected: str = ""
    verdict: Literal["good", "bad", ""] = ""
    ruled_out: tuple[str, ...] = ()
    note: str = ""
    counted: bool = True
    complaint: bool = False
    strip: ReadingStrip | None = None
    pictures: tuple[str, ...] = ()


@dataclass(frozen=True)
class BeliefCourse:
    """Probability of each suspect (by title) after each step; `labels` names the steps, the start first."""

    labels: tuple[str, ...]
    suspects: tuple[tuple[str, tuple[float, ...]], ...]
    conclusion: float | None = None


@dataclass(frozen=True)
class CostRow:
    """One piece of work: minutes and parts (in the shop's money) as planned, None if it was not, and as spent."""

    what: str
    minutes: float
    parts: float = 0.0
    planned_minutes: float | None = None
    planned_parts: float | None = None


@dataclass(frozen=True)
class CautionKept:
    """A caution that was given, and before what."""

    text: str
    before: str = ""


@dataclass(frozen=True)
class HarnessRow:
    """One cavity of the harness check: the colour on the sheet and the colour seen."""

    connector: str
    cavity: str
    sheet: str
    seen: str
    agrees: bool


@dataclass(frozen=True)
class ProofRow:
    """The same behaviour before and after the repair."""

    behaviour: str
    before: str
    after: str
    cured: bool


@dataclass(frozen=True)
class ReportData:
    """One report.

    Attributes
    ----------
    case, order : str
        Number of the case, and the workshop's own number of the job.
    shop, technician, customer : str
    opened, closed : str
        Dates as they are to be written; `closed` empty while the case is open.
    vehicle : tuple of Fact
    circuit, meter : str
    concern, cause, correction : str
        The three sentences of the trade; `cause` and `correction` empty while they are not known.
    repaired : str
        What was repaired, by name, for the customer's page; without it the correction stands there.
    cause_note : str
        How sure the cause is and what carries it.
    codes : tuple of str
    schematic : str
        SVG text as `draw_schematic` returns it, with the fault marked; empty for none.
    evidence : tuple of EvidenceRow
    belief : BeliefCourse or None
    costs : tuple of CostRow
    labour_rate : float
        Money per hour.
    currency : str
    authorised_minutes, authorised_money : float or None
    cautions : tuple of CautionKept
    proofs : tuple of ProofRow
    harness : tuple of HarnessRow
    unproven : tuple of str
        What was not proven, sentence by sentence.
    plain : tuple of str
        Paragraphs for the customer; made from the other fields where empty.
    invented : bool
        Whether the case is made up.
    record : str
        What an auditor compares with the store: count and fingerprint of the events.
    """

    case: str
    concern: str
    cause: str = ""
    correction: str = ""
    repaired: str = ""
    order: str = ""
    shop: str = ""
    technician: str = ""
    customer: str = ""
    opened: str = ""
    closed: str = ""
    vehicle: tuple[Fact, ...] = ()
    circuit: str = ""
    meter: str = ""
    cause_note: str = ""
    codes: tuple[str, ...] = ()
    schematic: str = ""
    evidence: tuple[EvidenceRow, ...] = ()
    belief: BeliefCourse | None = None
    costs: tuple[CostRow, ...] = ()
    labour_rate: float = 0.0
    currency: str = ""
    authorised_minutes: float | None = None
    authorised_money: float | None = None
    cautions: tuple[CautionKept, ...] = ()
    proofs: tuple[ProofRow, ...] = ()
    harness: tuple[HarnessRow, ...] = ()
    unproven: tuple[str, ...] = ()
    plain: tuple[str, ...] = ()
    invented: bool = False
    record: str = ""
