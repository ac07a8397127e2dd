"""What to do next."""

from proveout.diagnosis.planner.plan import Alternative, Plan, plan
from proveout.diagnosis.planner.problem import (
    Action,
    DecisionProblem,
    after_outcome,
    after_repair,
    marginal_cost,
    outcome_chances,
)

__all__ = [
    "Action",
    "Alternative",
    "DecisionProblem",
    "Plan",
    "after_outcome",
    "after_repair",
    "marginal_cost",
    "outcome_chances",
    "plan",
]
