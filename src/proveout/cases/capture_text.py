"""What a recorded signal showed at a measurement, in a few words."""

from __future__ import annotations

from proveout.cases.events import CaptureAttached
from proveout.circuits.schema import Circuit
from proveout.diagnosis.capture_evidence import levels_read
from proveout.diagnosis.trace_levels import trace_levels
from proveout.errors import InputError
from proveout.instruments import Function, describe

__all__ = ["capture_text", "fingerprint_text", "levels_text"]

_WORDS = {"scope_low": "low", "scope_high": "high", "scope_swing": "swing"}


def levels_text(event: CaptureAttached, circuit: Circuit) -> str:
    """Return the levels and losses of the signal; empty where they cannot be read."""
    try:
        levels = trace_levels(event.found, event.channel)
        read = levels_read(circuit, event.measurement, levels)
    except (InputError, KeyError):
        return ""
    told = [
        " ".join(filter(None, [_WORDS.get(circuit.measurements[name].function, ""), taken.shown]))
        for name, taken in read.items()
    ]
    if not levels.moves:
        told.append("no signal in it")
    elif levels.watched:
        told.append(("never lost", "lost once")[levels.lost] if levels.lost < 2 else f"lost {levels.lost} times")
    if levels.lost and levels.while_lost is not None:
        told[-1] += f", then at {describe(Function.SCOPE_LOW, levels.while_lost.value)}"
    return ", ".join(told)


def capture_text(event: CaptureAttached, circuit: Circuit) -> str:
    """Return the levels and losses of the signal with the file's name."""
    told, where = levels_text(event, circuit), f"recording {event.name}, channel {event.channel}"
    return f"{told} ({where})" if told else where


def fingerprint_text(event: CaptureAttached) -> str:
    """Return the file and its fingerprint in full, by which it can be checked."""
    return f"{event.name}, channel {event.channel}, SHA-256 {event.sha256}"
