"""What each channel of a capture stands for: guessed from name, unit and signal, and open to be overruled."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Any

import yaml

from proveout.captures.capture import Capture
from proveout.captures.findings import RoleTaken
from proveout.captures.study import ChannelStudy
from proveout.errors import InputError

__all__ = ["ROLES", "guess_role", "take_roles"]

ROLES = (
    "crank sensor",
    "cam sensor",
    "wheel-speed sensor",
    "speed sensor",
    "battery voltage",
    "battery current",
    "analogue signal",
    "not used",
)

_BATTERY_VOLTAGE = (6.0, 32.0)
"""Range of the median voltage of a 12 V or 24 V battery at rest or on the starter [V] (common practice)."""

_STARTER_CURRENT = 40.0
"""Current that no sensor takes [A]; from there on it is the battery's (common practice)."""


@cache
def _words() -> Mapping[str, Mapping[str, Any]]:
    return yaml.safe_load(resources.files(__package__).joinpath("roles.yaml").read_text("utf-8"))


def take_roles(capture: Capture, studies: Mapping[str, ChannelStudy], given: Mapping[str, str]) -> dict[str, RoleTaken]:
    """Return the role of every channel: as given, or as guessed.

    Raises
    ------
    InputError
        If a role is given to a channel that is not there, or is none of `ROLES`.
    """
    for name, role in given.items():
        capture.channel(name)
        if role not in ROLES:
            raise InputError(f"'{role}' is no role of a channel; there are: {', '.join(ROLES)}")
    return {
        name: RoleTaken(given[name], "as given", given=True) if name in given else guess_role(study)
        for name, study in studies.items()
    }


def guess_role(study: ChannelStudy) -> RoleTaken:
    """Return what a channel most likely stands for, and why."""
    channel = study.channel
    words = channel.name.lower()
    for role, entry in _words().items():
        said = [word for word in entry["words"] if _stands_in(word, words)]
        if said and channel.unit in entry["units"]:
            return RoleTaken(role, f"its name has '{said[0]}'")
    try:
        return _by_signal(study)
    except InputError as error:
        return RoleTaken("not used", str(error))


def _stands_in(word: str, text: str) -> bool:
    return re.search(rf"(?<![a-z]){re.escape(word)}", text) is not None


def _by_signal(study: ChannelStudy) -> RoleTaken:
    unit, whole = study.channel.unit, study.levels.extent
    if unit == "A" and max(abs(whole.least), abs(whole.greatest)) > _STARTER_CURRENT:
        return RoleTaken("battery current", f"its current reaches {max(abs(whole.least), abs(whole.greatest)):.0f} A")
    kind = study.kind
    if kind.kind in ("dead", "noise only", None):
        return RoleTaken("not used", f"its signal is {kind.kind or 'undecided'}")
    if kind.kind == "analogue level":
        low, high = _BATTERY_VOLTAGE
        if unit == "V" and low <= whole.least and whole.greatest <= high:
            return RoleTaken("battery voltage", f"it stays between {whole.least:.1f} and {whole.greatest:.1f} V")
        return RoleTaken("analogue signal", "its signal is an analogue level")
    return RoleTaken("speed sensor", f"its signal is: {kind.kind}")
