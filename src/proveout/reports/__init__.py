"""Drawings and the report of a case."""

from proveout.reports.belief_plot import draw_belief
from proveout.reports.chart_drawing import draw_chart
from proveout.reports.chart_tree import ChartNode, chart_text
from proveout.reports.reading_strip import ReadingStrip, StripBand, draw_reading_strip
from proveout.reports.report import Paper, render_customer_html, render_customer_pdf, render_html, render_pdf
from proveout.reports.report_data import (
    BeliefCourse,
    CautionKept,
    CostRow,
    EvidenceRow,
    Fact,
    HarnessRow,
    ProofRow,
    ReportData,
)
from proveout.reports.schematic import Schematic, draw_schematic, lay_out

__all__ = [
    "BeliefCourse",
    "CautionKept",
    "ChartNode",
    "CostRow",
    "EvidenceRow",
    "Fact",
    "HarnessRow",
    "Paper",
    "ProofRow",
    "ReadingStrip",
    "ReportData",
    "Schematic",
    "StripBand",
    "chart_text",
    "draw_belief",
    "draw_chart",
    "draw_reading_strip",
    "draw_schematic",
    "lay_out",
    "render_customer_html",
    "render_customer_pdf",
    "render_html",
    "render_pdf",
]
