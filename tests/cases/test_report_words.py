"""The words of a report may be put better, by corrections that the record keeps; evidence is not among them."""

from __future__ import annotations

import pytest

from proveout.cases.desk import Desk
from proveout.cases.events import Closed, Correction, FindingAccepted, Note, RepairNoted, RepairProven
from proveout.cases.memory_store import MemoryStore
from proveout.cases.report_words import reword, words_of_report
from proveout.demo.opening import demo_events
from proveout.errors import InputError


def _closed() -> tuple[Desk, int]:
    """Return a desk with a case that was repaired, proven and closed."""
    desk = Desk(MemoryStore())
    case = desk.open(*demo_events())
    circuit = desk.state(case).circuit
    after = next(n for n, o in circuit.behaviours[circuit.proof].outcomes.items() if o.good)
    desk.record(case, FindingAccepted(suspect="ce_terminal", probability=0.98, because="low refrence"))
    desk.record(case, Note(text="wet loom"))
    desk.record(case, RepairNoted(suspect="ce_terminal", note="terminal renwed"))
    desk.record(case, RepairProven(suspect="ce_terminal", behaviour=circuit.proof, after=after, cured=True))
    desk.record(case, Closed(proven=True))
    return desk, case


def test_the_words_are_those_that_people_wrote() -> None:
    desk, case = _closed()
    words = {word.kind: word for word in words_of_report(desk.state(case))}
    assert list(words) == ["concern", "customer", "technician", "order", "shop", "because", "remark", "note"]
    assert words["note"].text == "terminal renwed"
    assert words["note"].about == words["because"].about != ""


def test_words_are_changed_by_corrections_also_after_the_case_is_closed() -> None:
    desk, case = _closed()
    before = desk.events(case)
    keys = {word.kind: word.key for word in words_of_report(desk.state(case))}
    changed = {keys["note"]: "terminal renewed", keys["because"]: "low reference", keys["remark"]: "loom was wet"}
    assert reword(desk, case, {**changed, "concern": "turns over, fires late", "customer": "An invented customer"}) == 4
    state = desk.state(case)
    now = {word.kind: word.text for word in words_of_report(state)}
    assert (now["note"], now["because"], now["remark"]) == ("terminal renewed", "low reference", "loom was wet")
    assert state.opened.concern == "turns over, fires late"
    assert state.opened.customer == "An invented customer"
    assert state.phase == "closed"
    assert desk.events(case)[: len(before)] == before
    assert all(isinstance(e.event, Correction) for e in desk.events(case)[len(before) :])


def test_words_that_stay_as_they_are_leave_no_trace() -> None:
    desk, case = _closed()
    count = len(desk.events(case))
    same = {word.key: f" {word.text} " for word in words_of_report(desk.state(case))}
    assert reword(desk, case, same) == 0
    assert len(desk.events(case)) == count


def test_the_evidence_cannot_be_changed_that_way() -> None:
    desk, case = _closed()
    for key in ("suspect", "probability", "note-1", "minutes-6"):
        with pytest.raises(InputError, match=f"no words '{key}'"):
            reword(desk, case, {key: "other"})


def test_a_remark_is_not_emptied() -> None:
    desk, case = _closed()
    keys = {word.kind: word.key for word in words_of_report(desk.state(case))}
    with pytest.raises(InputError, match="cannot be empty"):
        reword(desk, case, {keys["remark"]: "  ", "concern": "other"})
    assert desk.state(case).opened.concern != "other"
