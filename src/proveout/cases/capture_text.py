"""What a recorded signal showed at a measurement, in a few words."""

from __future__ import annotations

from proveout.cases.events import CaptureAttached
from proveout.circuits.schema import Circuit
from proveout.diagnosis.capture_evidence import levels_read
from proveout.diagnosis.trace_levels import trace_levels
from proveout.errors import InputError

__all__ = ["capture_text", "fingerprint_text"]

_WORDS = {"scope_low": "low", "scope_high": "high", "scope_swing": "swing"}


def capture_text(event: CaptureAttached, circuit: Circuit) -> str:
    """Return the levels and losses of the signal with the file's name; only the name where they cannot be read."""
    where = f"recording {event.name}, channel {event.channel}"
    try:
        levels = trace_levels(event.found, event.channel)
        read = levels_read(circuit, event.measurement, levels)
    except (InputError, KeyError):
        return where
    told = [
        " ".join(filter(None, [_WORDS.get(circuit.measurements[name].function, ""), taken.shown]))
        for name, taken in read.items()
    ]
    if not levels.moves:
        told.append("no signal in it")
    elif levels.watched:
        told.append(("never lost", "lost once")[levels.lost] if levels.lost < 2 else f"lost {levels.lost} times")
    return f"{', '.join(told)} ({where})"


def fingerprint_text(event: CaptureAttached) -> str:
    """Return the file and its fingerprint in full, by which it can be checked."""
    return f"{event.name}, channel {event.channel}, SHA-256 {event.sha256}"
