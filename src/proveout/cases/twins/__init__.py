"""The plain-data twin of everything that is shown: what `--json` prints and what text is made from.

Keys are stable: a key is added, never renamed or given another meaning.
"""

from .advice_twin import advice_twin, next_twin
from .case_twin import effect_twin, history_twin, listing_twin, log_twin, recorded_twin, state_twin
from .circuit_twin import circuit_twin, connector_twin, steps_twin

__all__ = [
    "advice_twin",
    "circuit_twin",
    "connector_twin",
    "effect_twin",
    "history_twin",
    "listing_twin",
    "log_twin",
    "next_twin",
    "recorded_twin",
    "state_twin",
    "steps_twin",
]
