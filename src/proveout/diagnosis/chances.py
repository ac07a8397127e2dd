"""How probabilities are written: never 0 or 100 % unless they are."""

from __future__ import annotations

__all__ = ["chance_text"]


def chance_text(share: float) -> str:
    """Return a probability as `62 %`, `99.3 %`, `over 99.9 %` or `under 1 %`."""
    if 0.0 < share < 0.01:
        return "under 1 %"
    if 0.999 <= share < 1.0:
        return "over 99.9 %"
    if 0.99 < share < 0.999:
        return f"{int(share * 1000) / 10:.1f} %"
    return f"{share * 100:.0f} %"
