"""The description of a circuit: schema, loader, library of ready circuits, a vehicle's own sheet, harness check."""

from proveout.circuits.cautions import caution_text, caution_texts
from proveout.circuits.library import chart_names, ready_chart, ready_circuit, ready_names, ready_text, ready_titles
from proveout.circuits.loading import load_chart, load_circuit, read_chart, read_circuit
from proveout.circuits.repairs import (
    NO_FAULT_NOW,
    NONE_OF_THESE,
    access_closure,
    fault_modes,
    faults_of,
    repair_of,
    suspect_names,
)
from proveout.circuits.schema import Circuit
from proveout.circuits.service_chart import ServiceChart

__all__ = [
    "NONE_OF_THESE",
    "NO_FAULT_NOW",
    "Circuit",
    "ServiceChart",
    "access_closure",
    "caution_text",
    "caution_texts",
    "chart_names",
    "fault_modes",
    "faults_of",
    "load_chart",
    "load_circuit",
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
