"""What was asked of a vehicle and what it showed, in one line."""

from __future__ import annotations

from collections.abc import Mapping

from proveout.circuits.schema import Circuit

__all__ = ["answered", "complaint_told"]


def answered(title: str, answer: str) -> str:
    """Return a title with what was seen: `Engine speed: none`, `Does the fuse hold? it blows again`."""
    return f"{title} {answer}" if title.endswith("?") else f"{title}: {answer}"


def complaint_told(complaint: Mapping[str, str], circuit: Circuit) -> tuple[str, ...]:
    """Return a complaint (behaviour: outcome) in the circuit's words; what the circuit does not have is left out."""
    told = []
    for name, outcome in complaint.items():
        behaviour = circuit.behaviours.get(name)
        if behaviour is not None and outcome in behaviour.outcomes:
            told.append(answered(behaviour.title, behaviour.outcomes[outcome].title))
    return tuple(told)
