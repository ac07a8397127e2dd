"""What does not fit: the reading at odds with the rest, and what the drawing may lack."""

from __future__ import annotations

from proveout.diagnosis.belief import Belief

__all__ = ["doubt_text"]


def doubt_text(belief: Belief) -> str:
    """Return what the technician should doubt, or an empty string."""
    return " ".join(f"The reading of '{name}' fits nothing well: take it again." for name in sorted(belief.doubtful))
