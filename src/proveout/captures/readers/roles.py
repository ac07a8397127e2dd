"""What a channel may record, and how its name tells: common practice of naming, in several languages."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["ROLES", "role_of"]

ROLES: Mapping[str, str] = MappingProxyType(
    {
        "crank": "crankshaft sensor",
        "cam": "camshaft sensor",
        "wheel": "road wheel speed sensor",
        "battery-voltage": "voltage at the battery",
        "battery-current": "current of the battery or the starter",
        "other": "none of these",
    }
)
"""Key of each role, and what it means."""

_SIGNS = (
    ("crank", "", re.compile(r"crank|\bckp\b|\bkw\b|kurbel|vilebrequin|\bne\+?\b", re.IGNORECASE)),
    ("cam", "", re.compile(r"\bcam|\bcmp\b|\bnw\b|nocken|\barbre", re.IGNORECASE)),
    ("wheel", "", re.compile(r"wheel|\bwss\b|\babs\b|\bwhl", re.IGNORECASE)),
    ("battery-current", "A", re.compile(r"batt|starter|crank|clamp|\bi\b|current|strom", re.IGNORECASE)),
    ("battery-voltage", "V", re.compile(r"batt|\bub(at)?\b|\bb\+|\bkl\.? ?30\b", re.IGNORECASE)),
)


def role_of(name: str, unit: str) -> str:
    """Return the role that a name and an SI unit suggest, empty when they suggest none.

    A current on a channel called after the crank is the starter's: the unit comes first.
    """
    spoken = re.sub(r"[_\-.]+", " ", name)
    for role, wanted, sign in sorted(_SIGNS, key=lambda entry: entry[1] != unit):
        if wanted in ("", unit) and (unit != "A" or wanted == "A") and sign.search(spoken):
            return role
    return ""
