"""Writes the report of a case as files."""

from __future__ import annotations

from pathlib import Path

from proveout.cli.files import write_bytes, write_text
from proveout.cli.progress import shown
from proveout.cli.workplace import Workplace
from proveout.reports.case_report import report_data
from proveout.reports.report import Paper, render_html, render_pdf

__all__ = ["write_report"]


def write_report(place: Workplace, folder: Path, paper: Paper) -> tuple[Path, Path]:
    """Write `case-N.html` and `case-N.pdf` into a folder and return their paths; InputError when it cannot be done."""
    state = place.state()
    with shown("Writing the report") as progress:
        data = report_data(place.case, state, place.desk.events(place.case), place.model(state))
        progress(0.3)
        html = write_text(folder / f"case-{place.case}.html", render_html(data, paper=paper))
        progress(0.6)
        pdf = write_bytes(folder / f"case-{place.case}.pdf", render_pdf(data, paper=paper))
    return html, pdf
