"""The report of a case: preview, the words that people wrote, HTML and PDF, the customer's page."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping
from dataclasses import asdict

from starlette.responses import HTMLResponse, Response

from proveout.cases.report_words import reword, words_of_report
from proveout.errors import ProveoutError
from proveout.reports import (
    Paper,
    ReportData,
    render_customer_html,
    render_customer_pdf,
    render_html,
    render_pdf,
)
from proveout.reports.case_report import report_data
from proveout.web.asked import Asked, page, posted
from proveout.web.case_view import missed_entries
from proveout.web.languages import mark
from proveout.web.standing import Standing

__all__ = ["ROUTES"]

KINDS = {
    "concern": mark("Concern, in the customer's own words"),
    "customer": mark("Customer"),
    "technician": mark("Technician"),
    "order": mark("Number of the job"),
    "shop": mark("Workshop"),
    "because": mark("Cause: what carries the finding"),
    "note": mark("Correction: note of the technician"),
    "remark": mark("Remark"),
}
LONG = ("concern", "because", "note", "remark")
_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)


def report(asked: Asked) -> Response:
    """Show the report and its words."""
    return _page(asked, asked.bench.case(asked.case))


def save(asked: Asked) -> Response:
    """Change words by corrections; what was not noted stays as it was typed."""
    with asked.bench.writing:
        standing = asked.bench.case(asked.case)
        known = {word.key for word in words_of_report(standing.state)}
        typed = {key: value for key, value in asked.form.items() if isinstance(value, str) and key in known}
        typed = {key: value.replace("\r\n", "\n") for key, value in typed.items()}
        seen = asked.text("seen")
        missed = missed_entries(standing, int(seen) if seen.isdecimal() else standing.last)
        if missed:
            said = asked._("The case went on in another window meanwhile; look at what is new, then keep your words.")
            return _page(asked, standing, typed, said, 409)
        try:
            reword(asked.bench.desk, asked.case, typed)
        except ProveoutError as error:
            return _page(asked, standing, typed, str(error), 422)
    return asked.go(f"/cases/{asked.case}/report")


def _page(
    asked: Asked, standing: Standing, typed: Mapping[str, str] | None = None, message: str = "", status: int = 200
) -> Response:
    words = [asdict(word) for word in words_of_report(standing.state)]
    shown = [{**word, "text": (typed or {}).get(word["key"], word["text"])} for word in words]
    state = standing.state
    twin = {
        "case": asked.case,
        "circuit": {"name": state.circuit.name, "title": state.circuit.title},
        "phase": state.phase,
        "words": shown,
        "message": message,
        "paper": _paper(asked),
    }
    more = {"kinds": KINDS, "long": LONG, "last": standing.last}
    return asked.show("report.html", twin, status=status, more=more)


def as_html(asked: Asked) -> Response:
    """Send the report as a document that needs nothing else; as a file where it is to be kept."""
    return _document(asked, render_html(_data(asked), paper=_paper(asked)), f"case-{asked.case}.html")


def as_pdf(asked: Asked) -> Response:
    """Send the report as PDF."""
    return _pdf(render_pdf(_data(asked), paper=_paper(asked)), f"case-{asked.case}.pdf")


def customer_html(asked: Asked) -> Response:
    """Send the customer's page."""
    return _document(asked, render_customer_html(_data(asked), paper=_paper(asked)), f"case-{asked.case}-customer.html")


def customer_pdf(asked: Asked) -> Response:
    """Send the customer's page as PDF."""
    return _pdf(render_customer_pdf(_data(asked), paper=_paper(asked)), f"case-{asked.case}-customer.pdf")


def _data(asked: Asked) -> ReportData:
    standing = asked.bench.case(asked.case)
    return report_data(asked.case, standing.state, standing.events, standing.model)


def _document(asked: Asked, text: str, name: str) -> Response:
    """Answer with a document of its own, which may be shown inside a page of this site and runs nothing."""
    headers = {"content-security-policy": _policy(text), "x-frame-options": "SAMEORIGIN"}
    if asked.text("keep"):
        headers["content-disposition"] = f'attachment; filename="{name}"'
    return HTMLResponse(text, headers=headers)


def _policy(text: str) -> str:
    """Return a content policy that allows the document's own style, by its hash (CSP level 3), and nothing else."""
    hashes = [base64.b64encode(hashlib.sha256(style.encode()).digest()).decode() for style in _STYLE.findall(text)]
    styles = " ".join(f"'sha256-{each}'" for each in hashes) or "'none'"
    return f"default-src 'none'; style-src {styles}; base-uri 'none'; form-action 'none'; frame-ancestors 'self'"


def _pdf(content: bytes, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type="application/pdf", headers=headers)


def _paper(asked: Asked) -> Paper:
    wanted = asked.text("paper") or asked.settings.paper
    return "letter" if wanted == "letter" else "a4"


ROUTES = (
    *page("/cases/{case:int}/report", report),
    *posted("/cases/{case:int}/report", save),
    *page("/cases/{case:int}/report/document", as_html, twin=False),
    *page("/cases/{case:int}/report/pdf", as_pdf, twin=False),
    *page("/cases/{case:int}/report/customer", customer_html, twin=False),
    *page("/cases/{case:int}/report/customer-pdf", customer_pdf, twin=False),
)
