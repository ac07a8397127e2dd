"""The seal of an event: a hash over the event and the seal before it, so that a change of any event shows."""

from __future__ import annotations

import hashlib
import json

__all__ = ["FIRST", "seal"]

FIRST = "0" * 64


def seal(previous: str, case: int, number: int, at: str, kind: str, version: int, payload: str) -> str:
    """Return the SHA-256, in hexadecimal, of an event behind the seal `previous` (`FIRST` for the first event)."""
    content = json.dumps([previous, case, number, at, kind, version, payload], ensure_ascii=False)
    return hashlib.sha256(content.encode()).hexdigest()
