"""The description of a circuit: schema, loader, library of ready circuits, a vehicle's own sheet, harness check."""

from proveout.circuits.cautions import caution_text, caution_texts
from proveout.circuits.colours import colour_text, parse_colours
from proveout.circuits.harness import (
    ExpectedCavity,
    HarnessComparison,
    Mismatch,
    compare_harness,
    expected_cavities,
)
from proveout.circuits.json_schema import chart_json_schema, circuit_json_schema
from proveout.circuits.library import chart_names, ready_chart, ready_circuit, ready_names, ready_text, ready_titles
from proveout.circuits.loading import load_chart, load_circuit, read_chart, read_circuit
from proveout.circuits.repairs import (
    NO_FAULT_NOW,
    NONE_OF_THESE,
    access_closure,
    fault_modes,
    faults_of,
    intermittent_modes,
    repair_of,
    suspect_names,
)
from proveout.circuits.schema import Circuit
from proveout.circuits.service_chart import ServiceChart
from proveout.circuits.sheet import new_sheet
from proveout.circuits.sheet_answers import Question, SheetAnswers, parse_answers, questions

__all__ = [
    "NONE_OF_THESE",
    "NO_FAULT_NOW",
    "Circuit",
    "ExpectedCavity",
    "HarnessComparison",
    "Mismatch",
    "Question",
    "ServiceChart",
    "SheetAnswers",
    "access_closure",
    "caution_text",
    "caution_texts",
    "chart_json_schema",
    "chart_names",
    "circuit_json_schema",
    "colour_text",
    "compare_harness",
    "expected_cavities",
    "fault_modes",
    "faults_of",
    "intermittent_modes",
    "load_chart",
    "load_circuit",
    "new_sheet",
    "parse_answers",
    "parse_colours",
    "questions",
    "read_chart",
    "read_circuit",
    "ready_chart",
    "ready_circuit",
    "ready_names",
    "ready_text",
    "ready_titles",
    "repair_of",
    "suspect_names",
]
