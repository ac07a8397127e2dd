"""The report of a case: one HTML file that needs nothing else, and a PDF with the same words."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Literal, cast

import typst
from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from proveout.reports.print_font import in_print_font
from proveout.reports.report_data import ReportData
from proveout.reports.report_view import view

__all__ = ["Paper", "render_customer_html", "render_customer_pdf", "render_html", "render_pdf"]

Paper = Literal["a4", "letter"]
CSS_SIZE = {"a4": "A4", "letter": "letter"}
TYPST_SIZE = {"a4": "a4", "letter": "us-letter"}


@cache
def _text(name: str) -> str:
    return (resources.files(__package__) / "templates" / name).read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    return Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, keep_trailing_newline=True)


def render_html(data: ReportData, *, paper: Paper = "a4") -> str:
    """Return the report as one HTML document with its drawings inside, without scripts; the same data, the same text.

    Raises
    ------
    InputError
        If a drawing or the course of belief in `data` cannot be shown.
    """
    words = view(data)
    drawings = {
        "schematic": Markup(words["schematic"]),
        "belief": Markup(words["belief"]),
        "strips": [Markup(strip) for strip in words["strips"]],
        "recordings": [Markup(picture) for picture in words["recordings"]],
    }
    template = _environment().from_string(_text("report.html.j2"))
    return template.render({**words, **drawings, "page_size": CSS_SIZE[paper]})


def render_customer_html(data: ReportData, *, paper: Paper = "a4") -> str:
    """Return the customer's page alone as one HTML document: one page in plain words; raises as `render_html`."""
    template = _environment().from_string(_text("customer.html.j2"))
    return template.render({**view(data), "page_size": CSS_SIZE[paper]})


def render_customer_pdf(data: ReportData, *, paper: Paper = "a4") -> bytes:
    """Return the customer's page alone as PDF; the same data, the same bytes. Raises as `render_pdf`."""
    words = view(data)
    names = ("title", "subtitle", "invented", "maker_first", "facts", "customer", "plain")
    told = {**{name: words[name] for name in names}, "page_size": TYPST_SIZE[paper]}  # type: ignore[literal-required]
    files = {"main": _text("customer.typ").encode(), "data.json": json.dumps(told).encode()}
    return _typeset(files)


def render_pdf(data: ReportData, *, paper: Paper = "a4") -> bytes:
    """Return the report as PDF, set with the fonts that the typesetter brings along; the same data, the same bytes.

    Raises
    ------
    InputError
        If a drawing or the course of belief in `data` cannot be shown.
    """
    words = view(data)
    files = {f"strip-{i}.svg": in_print_font(strip) for i, strip in enumerate(words["strips"])}
    files |= {f"recording-{i}.svg": in_print_font(picture) for i, picture in enumerate(words["recordings"])}
    files |= {"schematic.svg": in_print_font(words["schematic"]), "belief.svg": in_print_font(words["belief"])}
    drawn = {"schematic": bool(words["schematic"]), "belief": bool(words["belief"]), "strips": len(words["strips"])}
    drawn |= {"recordings": len(words["recordings"])}
    told = {**words, **drawn, "page_size": TYPST_SIZE[paper]}
    files |= {"main": _text("report.typ").encode(), "data.json": json.dumps(told).encode()}
    return _typeset(files)


def _typeset(files: Mapping[str, bytes]) -> bytes:
    # The wheel takes a mapping of file names to their bytes, which its stubs leave out.
    return cast(bytes, typst.compile(files, ignore_system_fonts=True, timestamp=0))  # type: ignore[call-overload]
