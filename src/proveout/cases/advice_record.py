"""The event that keeps what was advised."""

from __future__ import annotations

import json

from proveout.cases.events import AdviceShown, fingerprint
from proveout.cases.next_action import NextAction
from proveout.cases.twins.advice_twin import advice_twin

__all__ = ["advice_event"]

_LEADING = 5


def advice_event(action: NextAction) -> AdviceShown | None:
    """Return the event of the advice in an action, None where nothing was advised.

    Its hash covers all that was shown, rounded to six figures so that it does not hang on the last bit of a machine.
    """
    if action.advice is None:
        return None
    advice = action.advice
    return AdviceShown(
        step_kind=advice.best.kind,
        step=advice.best.name,
        title=advice.best.title,
        cost_to_end=round(advice.cost_to_end, 2),
        stop=advice.stop,
        leading={o.suspect: min(round(o.probability, 6), 1.0) for o in advice.suspects[:_LEADING]},
        sha256=fingerprint(json.dumps(_rounded(advice_twin(advice)), sort_keys=True, ensure_ascii=False)),
    )


def _rounded(value: object) -> object:
    if isinstance(value, float):
        return float(f"{value:.6g}")
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(item) for item in value]
    return value
