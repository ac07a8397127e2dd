"""Advice as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from proveout.cases.case_state import CaseState
from proveout.cases.next_action import NextAction, answer_to
from proveout.cases.twins.circuit_twin import connector_twin
from proveout.circuits.cautions import caution_texts
from proveout.diagnosis.advice_model import Advice, Opinion, StepAdvice

__all__ = ["advice_twin", "next_twin", "opinions_twin", "step_twin"]


def opinions_twin(opinions: Sequence[Opinion], least: float = 0.0) -> list[dict[str, Any]]:
    """Return suspects with probabilities, those below `least` left out."""
    return [
        {"suspect": o.suspect, "title": o.title, "probability": o.probability}
        for o in opinions
        if o.probability >= least
    ]


def advice_twin(advice: Advice) -> dict[str, Any]:
    """Return advice; cautions carry their texts."""
    return {
        "best": step_twin(advice.best),
        "others": [step_twin(step) for step in advice.others],
        "suspects": opinions_twin(advice.suspects),
        "cost_to_end": advice.cost_to_end,
        "minutes_to_end": advice.minutes_to_end,
        "lower_bound": advice.lower_bound,
        "stop": advice.stop,
        "chance_within": advice.chance_within,
        "doubt": advice.doubt,
        "explained": advice.explained,
    }


def next_twin(case: int, state: CaseState, action: NextAction) -> dict[str, Any]:
    """Return what to do next in a case."""
    proof = state.circuit.behaviours[state.circuit.proof]
    return {
        "case": case,
        "phase": state.phase,
        "do": action.kind,
        "harness": [connector_twin(state.circuit, name) for name in action.connectors],
        "proof": {
            "behaviour": state.circuit.proof,
            "title": proof.title,
            "setup": state.circuit.setups[proof.setup].title,
            "outcomes": {name: outcome.title for name, outcome in proof.outcomes.items()},
        },
        "currency": state.opened.currency,
        "advice": advice_twin(action.advice) if action.advice else None,
    }


def step_twin(step: StepAdvice) -> dict[str, Any]:
    """Return a step; its cautions carry their texts."""
    texts = caution_texts()
    cautions = {name: texts.get(name, name) for name in step.cautions}
    return {**asdict(step), "cautions": cautions, "answer": answer_to(step)}
