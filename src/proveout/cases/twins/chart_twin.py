"""A chart and its proof as plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from proveout.diagnosis.chart import Chart, ChartEnd, ChartStep, walk
from proveout.diagnosis.proof import ChartProof, missed_faults

__all__ = ["chart_twin", "proof_twin"]


def chart_twin(chart: Chart) -> dict[str, Any]:
    """Return a chart as a list of its nodes; branches name the number of the node they lead to."""
    return {
        "title": chart.title,
        "standing": chart.standing,
        "root": chart.root.number,
        "nodes": [_node_twin(node) for node in walk(chart.root)],
    }


def proof_twin(proof: ChartProof, titles: Mapping[str, str], beside: ChartProof | None = None) -> dict[str, Any]:
    """Return what a chart was proven to do; `missed` only where `beside`, when it is given, finds the fault.

    `titles` are those of the suspects by name.
    """
    return {
        "coverage": proof.coverage,
        "expected_minutes": proof.expected_minutes,
        "expected_money": proof.expected_money,
        "minutes_to_cure": proof.minutes_to_cure,
        "money_to_cure": proof.money_to_cure,
        "outside": proof.outside,
        "steps": proof.steps,
        "ends": proof.ends,
        "confusable": [
            {
                "suspect": a,
                "title": titles[a],
                "taken_for": b,
                "taken_for_title": titles[b],
                "probability": chance,
            }
            for a, b, chance in proof.confusable
        ],
        "faults": [
            {
                "reference": fault.reference,
                "title": fault.title,
                "suspect": fault.suspect,
                "cured": fault.cured,
                "unit": fault.unit,
                "severities": [asdict(severity) for severity in fault.severities],
            }
            for fault in proof.faults
        ],
        "missed": [
            {**asdict(missed), "finding_title": titles.get(missed.finding, "")}
            for missed in missed_faults(proof, beside)
        ],
    }


def _node_twin(node: ChartStep | ChartEnd) -> dict[str, Any]:
    if isinstance(node, ChartEnd):
        return {
            "number": node.number,
            "kind": "repair" if node.suspect else "stop",
            "suspect": node.suspect,
            "title": node.title,
            "left": [asdict(opinion) for opinion in node.left],
        }
    return {
        "number": node.number,
        "kind": node.step.kind,
        "name": node.step.name,
        "title": node.step.title,
        "minutes": node.minutes,
        "branches": [{"label": branch.label, "to": branch.target.number} for branch in node.branches],
    }
