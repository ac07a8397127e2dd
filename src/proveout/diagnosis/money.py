"""How money is written, everywhere."""

from __future__ import annotations

__all__ = ["money_text"]


def money_text(amount: float, currency: str = "") -> str:
    """Return money as `1,081.50 EUR`, without a currency as `1,081.50`."""
    return f"{amount:,.2f} {currency}".rstrip()
