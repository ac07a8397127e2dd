"""A circuit's connectors, steps, repairs and names as plain data."""

from __future__ import annotations

from typing import Any

from proveout.cases.names import outcomes_of
from proveout.cases.repair_work import suspects_of
from proveout.circuits.colours import colour_text
from proveout.circuits.harness import expected_cavities
from proveout.circuits.schema import Circuit
from proveout.diagnosis.steps import Step, steps_of

__all__ = ["circuit_twin", "connector_twin", "steps_twin"]


def circuit_twin(circuit: Circuit) -> dict[str, Any]:
    """Return what a technician needs to know of a circuit."""
    return {
        "name": circuit.name,
        "title": circuit.title,
        "about": circuit.about,
        "based_on": circuit.based_on,
        "vehicle": circuit.vehicle.model_dump() if circuit.vehicle else None,
        "proof": circuit.proof,
        "connectors": [connector_twin(circuit, name) for name in circuit.connectors],
        **steps_twin(circuit),
    }


def connector_twin(circuit: Circuit, name: str) -> dict[str, Any]:
    """Return a connector with its cavities as the sheet has them."""
    return {
        "connector": name,
        "title": circuit.connectors[name].title,
        "cavities": [
            {"cavity": item.cavity, "colours": colour_text(item.colours), "function": item.function}
            for item in expected_cavities(circuit, name)
        ],
    }


def steps_twin(circuit: Circuit) -> dict[str, Any]:
    """Return everything that can be named in a command: steps, access operations, set-ups, suspects."""
    return {
        "steps": [_step_twin(circuit, step) for step in steps_of(circuit)],
        "access": [{"name": k, "title": a.title, "minutes": a.minutes} for k, a in circuit.access.items()],
        "setups": [{"name": k, "title": s.title, "minutes": s.minutes} for k, s in circuit.setups.items()],
        "suspects": [
            {
                "name": suspect.name,
                "title": suspect.title,
                "repair": suspect.repair.title,
                "minutes": suspect.repair.minutes,
                "parts": suspect.repair.parts,
                "access": list(suspect.repair.access),
            }
            for suspect in suspects_of(circuit)
        ],
    }


def _step_twin(circuit: Circuit, step: Step) -> dict[str, Any]:
    return {
        "kind": step.kind,
        "name": step.name,
        "title": step.title,
        "setup": step.setup,
        "minutes": step.minutes,
        "access": list(step.access),
        "connectors": sorted(step.connectors),
        "outcomes": outcomes_of(circuit, step),
    }
