"""One measured figure and how it is printed."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Figure"]


@dataclass(frozen=True)
class Figure:
    """A name, a value and its unit (`1` for a ratio)."""

    name: str
    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.name} {self.value:.4g} {self.unit}"
