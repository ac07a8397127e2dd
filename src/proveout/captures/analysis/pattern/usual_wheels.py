"""The wheels that a technician meets often, read from the data file beside this module."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import resources
from itertools import accumulate
from typing import Any

import yaml

from proveout.captures.analysis.wheel import Wheel

__all__ = ["UsualWheel", "usual_wheels", "wheel_of_runs", "wheel_with_added_tooth"]


@dataclass(frozen=True)
class UsualWheel:
    """A wheel of the list, what it sits on, and who says so (`common practice` or `from memory`)."""

    wheel: Wheel
    about: str
    source: str


@cache
def usual_wheels() -> tuple[UsualWheel, ...]:
    """Return the wheels of `usual_wheels.yaml`."""
    text = (resources.files(__package__) / "usual_wheels.yaml").read_text(encoding="utf-8")
    return tuple(
        UsualWheel(_wheel(entry), str(entry["about"]), str(entry["source"])) for entry in yaml.safe_load(text)["wheels"]
    )


def _wheel(entry: dict[str, Any]) -> Wheel:
    if "runs" in entry:
        return wheel_of_runs(entry["name"], [(int(teeth), int(missing)) for teeth, missing in entry["runs"]])
    return wheel_with_added_tooth(entry["name"], int(entry["added"]), float(entry["at"]))


def wheel_of_runs(name: str, runs: list[tuple[int, int]]) -> Wheel:
    """Return the wheel of runs of teeth, each followed by so many missing ones."""
    slots = sum(teeth + missing for teeth, missing in runs)
    starts = accumulate((teeth + missing for teeth, missing in runs[:-1]), initial=0)
    places = [start + k for start, (teeth, _) in zip(starts, runs, strict=True) for k in range(teeth)]
    return Wheel(name, tuple(place / slots for place in places), slots)


def wheel_with_added_tooth(name: str, count: int, at: float) -> Wheel:
    """Return the wheel of `count` even teeth and one more, `at` of a pitch past the last of them."""
    even = [place / count for place in range(count)]
    slots = 2 * count if at == 0.5 else 0
    return Wheel(name, (*even, (count - 1 + at) / count), slots)
