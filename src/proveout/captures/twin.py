"""What was read from a file, as plain data for JSON and for every face."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from proveout.captures.capture import Capture, Channel

__all__ = ["capture_twin"]


def capture_twin(capture: Capture) -> dict[str, Any]:
    """Return origin, channels, guesses, notes and details of a capture; samples are left out."""
    return {
        "origin": asdict(capture.origin),
        "channels": [_channel(channel) for channel in capture.channels],
        "guesses": [asdict(guess) for guess in capture.guesses],
        "notes": list(capture.notes),
        "details": dict(capture.details),
    }


def _channel(channel: Channel) -> Mapping[str, Any]:
    clock, count = channel.clock, int(channel.samples.size)
    return {
        "name": channel.name,
        "unit": channel.unit,
        "samples": count,
        "precision": str(channel.samples.dtype),
        "start": _finite(float(clock.at(0))),
        "end": _finite(float(clock.at(count - 1))),
        "rate": clock.rate,
        "even": clock.even,
        "holds": clock.holds,
        "over_low": channel.over_low,
        "over_high": channel.over_high,
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
