"""The flow chart of a circuit, with the way of a case through it, and what was proven of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.responses import Response

from proveout.diagnosis.evidence import Evidence
from proveout.reports import Paper
from proveout.reports.chart_print import render_chart_pdf
from proveout.reports.chart_sheet import ChartSheet, Taken
from proveout.web.asked import Asked, page
from proveout.web.background import Job
from proveout.web.charts import ChartOrder
from proveout.web.circuit_source import circuit_source

__all__ = ["ROUTES"]

PATIENCE = 0.5  # seconds that a page waits for a chart before it says that it is being derived
NOTHING = Taken((), ())
Ordered = tuple[ChartOrder, Job[ChartSheet]]


def of_case(asked: Asked) -> Response:
    """Show the chart of a case's circuit, with the way of the case."""
    state = asked.bench.case(asked.case).state
    head = {
        "case": asked.case,
        "address": f"/cases/{asked.case}",
        "circuit": {"name": state.circuit.name, "title": state.circuit.title},
        "currency": state.opened.currency,
    }
    return _page(asked, head, _case_order(asked), state.evidence)


def of_circuit(asked: Asked) -> Response:
    """Show the chart of a circuit."""
    source = circuit_source(asked)
    head = {
        **source.twin,
        "case": None,
        "circuit": {"name": source.circuit.name, "title": source.circuit.title},
        "currency": asked.settings.currency,
    }
    return _page(asked, head, _circuit_order(asked), ())


def print_of_case(asked: Asked) -> Response:
    """Send the chart of a case as PDF."""
    return _print(asked, _case_order(asked), asked.bench.case(asked.case).state.evidence)


def print_of_circuit(asked: Asked) -> Response:
    """Send the chart of a circuit as PDF."""
    return _print(asked, _circuit_order(asked), ())


def _case_order(asked: Asked) -> Ordered:
    state = asked.bench.case(asked.case).state
    opened = state.opened
    order = ChartOrder(state.text, opened.meter, opened.labour_rate, opened.wrong_repair, opened.currency)
    return order, asked.bench.charts.job(order, lambda: asked.bench.model(state))


def _circuit_order(asked: Asked) -> Ordered:
    source, prices = circuit_source(asked), asked.settings
    order = ChartOrder(source.text, "", prices.labour_rate, prices.wrong_repair, prices.currency)
    return order, asked.bench.charts.job(order, lambda: asked.bench.compiled(source.circuit, source.text))


def _page(asked: Asked, head: dict[str, Any], ordered: Ordered, evidence: Sequence[Evidence]) -> Response:
    order, job = ordered
    if not job.wait(PATIENCE):
        return asked.show("chart_wait.html", {**head, "done": False, "share": job.share}, status=202)
    chart, paper = job.result, _paper(asked)
    taken = chart.taken(evidence) if head["case"] is not None else NOTHING
    twin = {
        **head,
        "done": True,
        "title": chart.title,
        "standing": chart.standing,
        "root": chart.root,
        "nodes": [asdict(node) for node in chart.nodes.values()],
        "taken": asdict(taken),
        "proof": chart.proof,
        "service": chart.service,
    }
    more = {"paper": paper, "drawn": [Markup(svg) for svg in asked.bench.charts.drawn(order, chart, taken, paper)]}
    return asked.show("chart.html", twin, more=more)


def _print(asked: Asked, ordered: Ordered, evidence: Sequence[Evidence]) -> Response:
    order, job = ordered
    if not job.wait(PATIENCE):
        raise HTTPException(409, asked._("The chart is still being derived. Try again in some seconds."))
    chart, paper = job.result, _paper(asked)
    taken = chart.taken(evidence) if evidence else NOTHING
    content = render_chart_pdf(asked.bench.charts.drawn(order, chart, taken, paper), title=chart.title, paper=paper)
    headers = {"content-disposition": 'inline; filename="chart.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


def _paper(asked: Asked) -> Paper:
    wanted = asked.text("paper") or asked.settings.paper
    return "letter" if wanted == "letter" else "a4"


ROUTES = (
    *page("/cases/{case:int}/chart", of_case),
    *page("/cases/{case:int}/chart.pdf", print_of_case, twin=False),
    *page("/circuits/{name}/chart", of_circuit),
    *page("/circuits/{name}/chart.pdf", print_of_circuit, twin=False),
    *page("/sheets/{sheet:int}/chart", of_circuit),
    *page("/sheets/{sheet:int}/chart.pdf", print_of_circuit, twin=False),
)
