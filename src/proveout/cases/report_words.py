"""The words of a report that people wrote: what they are now, and the corrections that change them.

Readings, outcomes and costs are evidence and not among them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from proveout.cases.case_state import CaseState
from proveout.cases.desk import Desk
from proveout.cases.events import Correction, FindingAccepted, Note, Opened, RepairNoted
from proveout.cases.repair_work import suspect_of
from proveout.errors import InputError

__all__ = ["ReportWord", "reword", "words_of_report"]

BECAUSE = "words of the report"
_OPENED: tuple[Literal["concern", "customer", "technician", "order", "shop"], ...] = (
    "concern",
    "customer",
    "technician",
    "order",
    "shop",
)


@dataclass(frozen=True)
class ReportWord:
    """One piece of text.

    Attributes
    ----------
    key : str
        A name for it in this case: `concern`, `because-7`.
    kind : str
        `concern`, `customer`, `technician`, `order`, `shop`, `because` of a finding, `note` of a repair, `remark`.
    about : str
        The suspect that a finding or a repair is about; else empty.
    entry : int
        The entry that holds it.
    text : str
    """

    key: str
    kind: Literal["concern", "customer", "technician", "order", "shop", "because", "note", "remark"]
    about: str
    entry: int
    text: str


def words_of_report(state: CaseState) -> tuple[ReportWord, ...]:
    """Return all words of a case's report that people wrote, in its order."""
    return tuple(_words(state))


def reword(desk: Desk, case: int, typed: Mapping[str, str]) -> int:
    """Change words by corrections, one for each entry that changes, and return how many there were.

    Raises
    ------
    InputError
        A key that is none of the case's; a remark that is emptied; nothing was changed then.
    """
    known = {word.key: word for word in words_of_report(desk.state(case))}
    for key, text in typed.items():
        if key not in known:
            raise InputError(f"no words '{key}' in the report of case {case}; there are: {', '.join(known)}")
        if known[key].kind == "remark" and not text.strip():
            raise InputError("a remark cannot be empty; take it back in the record instead")
    changes: dict[int, dict[str, object]] = {}
    for key, text in typed.items():
        if text.strip() != known[key].text:
            field = "text" if known[key].kind == "remark" else known[key].kind
            changes.setdefault(known[key].entry, {})[field] = text.strip()
    for entry, fields in changes.items():
        replaced = desk.replacement(case, entry, fields)
        desk.record(case, Correction(corrects=replaced.corrects, payload=replaced.payload, because=BECAUSE))
    return len(changes)


def _words(state: CaseState) -> Iterator[ReportWord]:
    for entry in state.entries:
        event = entry.event
        if entry.problem:
            continue
        if isinstance(event, Opened):
            for field in _OPENED:
                yield ReportWord(field, field, "", entry.number, getattr(event, field))
        elif isinstance(event, FindingAccepted):
            title = suspect_of(state.circuit, event.suspect).title
            yield ReportWord(f"because-{entry.number}", "because", title, entry.number, event.because)
        elif isinstance(event, RepairNoted):
            title = suspect_of(state.circuit, event.suspect).title
            yield ReportWord(f"note-{entry.number}", "note", title, entry.number, event.note)
        elif isinstance(event, Note):
            yield ReportWord(f"remark-{entry.number}", "remark", "", entry.number, event.text)
