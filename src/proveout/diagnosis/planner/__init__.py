"""What to do next: the planner's problem, the plan, and what following it costs."""

from proveout.diagnosis.planner.plan import EXACT_BRANCHES, Alternative, Plan, plan
from proveout.diagnosis.planner.planned_spend import planned_spend
from proveout.diagnosis.planner.problem import (
    Action,
    DecisionProblem,
    after_outcome,
    after_repair,
    marginal_cost,
    outcome_chances,
)
from proveout.diagnosis.planner.rollout import Effort
from proveout.diagnosis.planner.spend import Spend, chance_within, expected_cost, repair_in_order, spend_of

__all__ = [
    "EXACT_BRANCHES",
    "Action",
    "Alternative",
    "DecisionProblem",
    "Effort",
    "Plan",
    "Spend",
    "after_outcome",
    "after_repair",
    "chance_within",
    "expected_cost",
    "marginal_cost",
    "outcome_chances",
    "plan",
    "planned_spend",
    "repair_in_order",
    "spend_of",
]
