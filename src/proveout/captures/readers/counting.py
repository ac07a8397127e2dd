"""A count with its noun, for notes."""

from __future__ import annotations

__all__ = ["counted"]


def counted(count: int, noun: str) -> str:
    """Return `1 row` or `5 rows`."""
    return f"{count} {noun}{'' if count == 1 else 's'}"
