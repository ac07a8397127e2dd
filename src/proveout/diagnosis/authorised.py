"""The chance of a proven cause within the time and money that the customer authorised."""

from __future__ import annotations

from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.decision import Decision
from proveout.diagnosis.planner import Plan

__all__ = ["chance_authorised"]


def chance_authorised(decision: Decision, found: Plan, shop: Shop) -> float | None:
    """Return the probability, or None where nothing was limited."""
    return None
