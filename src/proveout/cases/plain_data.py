"""Data as JSON can write them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

__all__ = ["plain_data"]


def plain_data(value: Any) -> Any:
    """Return data with null for what JSON cannot write: an infinite severity, a bound that is not there."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: plain_data(item) for key, item in value.items()}
    return [plain_data(item) for item in value] if isinstance(value, list | tuple) else value
