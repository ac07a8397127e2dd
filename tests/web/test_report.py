"""The report on the page: preview, words, files, the customer's page."""

from __future__ import annotations

import re

from proveout.cases.events import Note, RepairNoted
from proveout.web import Workbench
from web.visitor import Visitor

SEEN = re.compile(r'name="seen" value="(\d+)"')


def test_the_report_is_there_as_document_and_print_on_either_paper(visitor: Visitor) -> None:
    document = visitor.see("/cases/1/report/document")
    assert "Concern" in document.text
    assert "content-disposition" not in document.headers
    assert 'filename="case-1.html"' in visitor.see("/cases/1/report/document?keep=1").headers["content-disposition"]
    for paper, size in (("a4", b"595.2756"), ("letter", b"612")):
        # Widths in points: ISO 216 A4 is 210 mm wide, US Letter 8.5 in.
        printed = visitor.see(f"/cases/1/report/pdf?paper={paper}")
        assert printed.headers["content-type"] == "application/pdf"
        assert size in printed.content


def test_the_customers_page_is_one_page_in_plain_words(visitor: Visitor) -> None:
    text = visitor.see("/cases/1/report/customer").text
    assert "in plain words" in text
    assert "You told us" in text
    assert "<table" not in text
    printed = visitor.see("/cases/1/report/customer-pdf").content
    assert printed.startswith(b"%PDF")
    assert b"/Count 1" in printed


def test_a_document_allows_its_own_style_by_hash_and_runs_nothing(visitor: Visitor) -> None:
    for path in ("/cases/1/report/document", "/cases/1/report/customer"):
        answer = visitor.see(path)
        policy = answer.headers["content-security-policy"]
        assert "'sha256-" in policy
        assert "unsafe" not in policy
        assert "script-src" not in policy
        assert "frame-ancestors 'self'" in policy
        assert answer.headers["x-frame-options"] == "SAMEORIGIN"
        assert "<script" not in answer.text
        assert " style=" not in answer.text


def test_the_words_are_put_better_and_the_record_keeps_both(bench: Workbench, visitor: Visitor) -> None:
    bench.desk.record(1, RepairNoted(suspect="ce_terminal", note="terminal renwed"))
    words = {word["kind"]: word["key"] for word in visitor.data("/cases/1/report.json")["words"]}
    fields = {words["note"]: "terminal renewed", "concern": "fires <late>"}
    assert visitor.send("/cases/1/report", fields).status_code == 303
    assert "terminal renewed" in visitor.see("/cases/1/report/document").text
    assert "fires &lt;late&gt;" in visitor.see("/cases/1/report/document").text
    record = visitor.see("/cases/1/record").text
    assert "renwed" in record
    assert "renewed" in record


def test_words_typed_while_the_case_went_on_elsewhere_are_kept_in_the_form(bench: Workbench, visitor: Visitor) -> None:
    seen = SEEN.search(visitor.see("/cases/1/report").text)
    assert seen
    bench.desk.record(1, Note(text="from the other window"))
    answer = visitor.send("/cases/1/report", {"seen": seen[1], "concern": "my better words"})
    assert answer.status_code == 409
    assert "my better words" in answer.text
    assert bench.desk.state(1).opened.concern != "my better words"


def test_what_a_remark_cannot_be_is_said(bench: Workbench, visitor: Visitor) -> None:
    bench.desk.record(1, Note(text="wet loom"))
    words = {word["kind"]: word["key"] for word in visitor.data("/cases/1/report.json")["words"]}
    answer = visitor.send("/cases/1/report", {words["remark"]: ""})
    assert answer.status_code == 422
    assert "cannot be empty" in answer.text
